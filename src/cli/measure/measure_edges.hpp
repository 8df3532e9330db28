// What the command line says of single edges of a photograph.
#pragma once
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/measure/measure_photo.hpp"

namespace rondure::cli {

struct EdgeWords {
  std::vector<std::string> called;    // "hub step=bore"
  std::vector<std::string> left_out;  // "bore@30..60": degrees, counter-clockwise
  std::vector<std::string> taken_in;
};
void add_edge_options(CLI::App& command, EdgeWords& words);

// Errors: kBadArgument.
Result<std::vector<EdgeChoice>> edge_choices(const EdgeWords& words);

}  // namespace rondure::cli
