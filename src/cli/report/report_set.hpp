// `rondure report SET.json`: the page of a set, and beside it the pages of its parts.
#pragma once
#include <string>

#include "cli/report/report_part.hpp"

namespace rondure::cli {

int report_set(const std::string& set_file, const std::string& text, const std::string& output,
               const PageWishes& how);

}  // namespace rondure::cli
