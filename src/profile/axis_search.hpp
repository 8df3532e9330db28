// Directions in which an outline may have its axis.
#pragma once
#include <vector>

#include "rondure/profile/meridian.hpp"

namespace rondure {

struct AxisSearch {
  Eigen::Vector2d centre;          // of the area
  std::vector<double> angles_rad;  // of axes that mirror the outline onto itself, best first
  double best_misfit_ratio = 1;  // rms distance between the outline and its mirror image, of its mean radius
  double roundness_ratio = 1;    // rms deviation from a circle, of the mean radius
};
AxisSearch search_axes(const std::vector<OutlinePoint>& outline);

}  // namespace rondure
