// Every edge that rays from inside a part meet, with what it looks like.
//
// Each maximum of the light's slope along a ray is fitted by a blurred step,
//   light(t) = in + (out - in) Phi((t - d) / sigma),
// over three blurs or as far as the next edge. A shadow's edge is softer than the camera's blur; paper's texture
// has little contrast in ratio; the part's edge is sharp even inside a shadow.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct RayEdge {
  Eigen::Vector2d at;  // plane z = 0, mm
  Eigen::Vector2d pixel;
  double blur_px = 0;
  double inside = 0, outside = 0;  // light either side, 1 = full scale
  double weight = 0;               // contrast in ratio times sharpness, 0 to 1
  bool dark_inside = false;
};

struct RayEdges {
  std::vector<std::vector<RayEdge>> rays;  // outwards along each; directions evenly spaced in the plane
  double px_per_mm = 1;                    // at the centre
  double camera_blur_px = 1;
};

// `board`: the plane z = 0. Edges of less contrast in ratio than `least_log_ratio` are left out. From `from_mm` to `to_mm` along each of `count` rays.
RayEdges find_ray_edges(const Picture& picture, const MeasuringPlane& board,
                        const std::vector<float>& light_table, const Eigen::Vector2d& center, double from_mm,
                        double to_mm, int count, double least_log_ratio = 0.12);

}  // namespace rondure
