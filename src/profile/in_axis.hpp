// An outline in the frame of its axis, with what the laws of the limb need to know of its ends.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "rondure/profile/limb.hpp"

namespace rondure {

// The outline in the frame of the axis, its middle along the axis as origin.
struct InAxis {
  std::vector<Eigen::Vector2d> at, normal;
  std::vector<bool> is_face, unclear;  // unclear: of a fillet, so near to its face that it tells no radius
  std::vector<double> rim_mm;          // of a face: radius of its rim
  std::vector<double> fillet_mm;       // radius of the fillet into which it runs there; 0 = a corner
  Eigen::Vector3d camera_mm;
  double pivot_mm = 0;  // along the axis

  // Place and distance from the axis that point i of a face shows.
  Eigen::Vector2d face_place(std::size_t i, const SideCamera& camera) const;
};

// The rims' radii follow the tilt.
InAxis in_axis(const std::vector<OutlinePoint>& outline, const MeridianAxis& axis,
               const Eigen::Vector3d& camera_mm, double tilt_rad, double step_mm);

// A tilted face's outline turns into the flank over the tip of its rim's ellipse: there it is neither a face, for its
// direction, nor a surface. Which points those are.
std::vector<bool> on_a_tip(const InAxis& a, double tilt_rad, double step_mm);

}  // namespace rondure
