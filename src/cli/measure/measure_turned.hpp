// measure --turned: one part turned about its axis between the photographs.
#pragma once
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/measure/measure_photo.hpp"

namespace rondure::cli {

struct TurnedWords {
  bool given = false;
  std::string
      angles;  // "0,72,144"; empty: found from marks. A photograph where the parser took one for the angles.
};

void add_turned_option(CLI::App& command, TurnedWords& words);
// The first photograph back among them where the option swallowed it.
void give_back_photo(TurnedWords& words, std::vector<std::string>& photos);
int run_turned(const TurnedWords& words, const std::vector<std::string>& photos, const CommonOptions& common,
               const PhotoOptions& prepared, const std::string& calibration, bool all_figures);

}  // namespace rondure::cli
