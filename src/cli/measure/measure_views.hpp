// measure --one-part: several photographs of one part at rest.
#pragma once
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/measure/measure_views.hpp"

namespace rondure::cli {

struct ViewsWords {
  bool one_part = false;
  std::string overlay;  // one picture a view, named after it
  bool all = false;
};

void add_views_options(CLI::App& command, ViewsWords& words);
int run_views(const ViewsWords& words, const std::vector<std::string>& photos, const CommonOptions& common,
              const PhotoOptions& prepared, const std::string& calibration);

}  // namespace rondure::cli
