// The part's rough outline: a closed line of points a pixel apart.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct Silhouette {
  std::vector<Eigen::Vector2d> line;  // px, closed, counter-clockwise as seen (y up)
  bool dark = true;                   // the part is darker than the ground
  double half_light = 0;              // half way between part and ground
};

// Errors: those of find_side_outline.
Result<Silhouette> find_silhouette(const Picture& picture, const MeasuringPlane& plane,
                                   const std::vector<float>& light_table,
                                   const std::vector<Circle>& passed_over);

}  // namespace rondure
