// Man pages and shell completion, written from the very command definitions that the program parses with.
#pragma once
#include <CLI/CLI.hpp>
#include <filesystem>
#include <map>
#include <string>

namespace rondure::cli {

// File name -> text: rondure.1, rondure-fit.1, ... (troff man macros).
std::map<std::string, std::string> man_pages(const CLI::App& program);
std::string bash_completion(const CLI::App& program);
std::string zsh_completion(const CLI::App& program);
std::string fish_completion(const CLI::App& program);

}  // namespace rondure::cli
