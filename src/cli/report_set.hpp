// `rondure report SET.json`: the page of a set, and beside it the pages of its parts.
#pragma once
#include <string>

namespace rondure::cli {

int report_set(const std::string& set_file, const std::string& text, const std::string& output);

}  // namespace rondure::cli
