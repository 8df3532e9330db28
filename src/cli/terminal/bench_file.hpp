// The bench file: what stays the same from one measurement to the next, kept once (TOML).
//
//   camera = "camera.json"        # calibrate camera; for measure and calibrate plane
//   board = "9x6"                 # inner corners, or a file of calibrate board-print
//   square = "4.985mm"
//   board_uncertainty = "0.05%"
//   stage = "stage.json"          # calibrate stage; for fit and record
//   tools = "tools.csv"           # shelf of radii; for plan
//   unit = "in"                   # of bare numbers, and the one that stands first
//
// Found as --bench FILE, else bench.toml in the folder, else rondure/bench.toml in the user's configuration folder
// ($XDG_CONFIG_HOME, or ~/.config; XDG base directories). Names of files are those beside the bench file. The command
// line wins: a word that is typed is not taken from the file, and with --calibration, --scale or --scan typed nothing
// of camera and board is.
#pragma once
#include <CLI/CLI.hpp>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"

namespace rondure::cli {

// --bench on every command that can take something from it.
void add_bench_option(CLI::App& program);

struct BenchedWords {
  std::vector<std::string> words;  // the command line with what the bench file adds to it
  std::string note;                // "from bench.toml: board 9x6, square 5mm"; empty = nothing came from it
};
// Errors: kBadArgument (a wrong word, with its line and the known ones), those of reading the file.
Result<BenchedWords> with_bench_file(const CLI::App& program, const std::vector<std::string>& words);

// What the bench file of that folder, or the user's, says; empty where there is none that can be read.
std::map<std::string, std::string> bench_file_words(const std::filesystem::path& folder);

}  // namespace rondure::cli
