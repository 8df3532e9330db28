// What is wrong with a command line, in the program's own words.
#pragma once
#include <CLI/CLI.hpp>
#include <string>
#include <vector>

namespace rondure::cli {

// "measure: needed a value behind --board, such as NxM". Without a full stop, for one line on standard error.
std::string in_own_words(const CLI::App& program, const CLI::ParseError& error,
                         const std::vector<std::string>& words);

}  // namespace rondure::cli
