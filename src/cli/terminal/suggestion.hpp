// The nearest known word to a misspelt command or option.
#pragma once
#include <CLI/CLI.hpp>
#include <string>
#include <vector>

namespace rondure::cli {

// Number of single-letter changes, insertions, deletions and swaps of neighbours between two words (restricted
// Damerau-Levenshtein distance).
int edit_distance(const std::string& a, const std::string& b);

// "did you mean 'measure'?" for the first word of the command line that the program does not know; empty when every
// word is known or nothing is near.
std::string suggestion(const CLI::App& program, const std::vector<std::string>& words);

}  // namespace rondure::cli
