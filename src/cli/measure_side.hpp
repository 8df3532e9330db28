// `measure --side`: a part on its side, seen square to its axis.
#pragma once
#include <functional>
#include <string>
#include <vector>

#include "command.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure::cli {

struct SideWords {
  bool asked = false;
  std::string profile;   // "flange, crown, flange"
  std::string axis;      // degrees
  std::string distance;  // camera to axis, where a plain scale does not tell it
};
void add_side_options(CLI::App& command, SideWords& words);

int run_side(const SideWords& words, const std::vector<std::string>& photos, const CommonOptions& common,
             PictureChannel channel, bool linear, const std::string& overlay,
             const std::function<Result<MeasuringPlane>(const Picture&)>& plane_of);

}  // namespace rondure::cli
