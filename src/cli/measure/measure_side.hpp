// `measure --side`: a part on its side, seen square to its axis.
#pragma once
#include <functional>
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/measure/measure_side.hpp"

namespace rondure::cli {

struct SideWords {
  bool asked = false;
  std::string profile;   // "flange, crown, flange"
  std::string axis;      // degrees
  std::string distance;  // camera to axis, where a plain scale does not tell it
};
void add_side_options(CLI::App& command, SideWords& words);

// What the rest of the command line says.
struct SideRun {
  SideViewOptions options;
  PictureChannel channel = PictureChannel::kLuma;
  std::string outlines = {};  // file for where the outline runs in the picture
  std::function<Result<MeasuringPlane>(const Picture&)> plane_of;
};

// Several photographs: the part turned about its own axis in between.
int run_side(const SideWords& words, const std::vector<std::string>& photos, const CommonOptions& common,
             SideRun asked, const std::function<std::string(const std::string&)>& overlay_of);

}  // namespace rondure::cli
