// The tables of src/data, built into the program: builtin_data("size_grids.csv") is the file's text; empty when there
// is no table of that name.
#pragma once
#include <string_view>

namespace rondure {

std::string_view builtin_data(std::string_view name);

}  // namespace rondure
