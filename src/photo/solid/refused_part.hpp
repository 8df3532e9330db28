// What is said of a part whose size cannot be told from its picture: what was found, and what was needed.
#pragma once
#include "photo/solid/wall_fit.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct RefusedPart {
  const MeasuringPlane& plane;  // at the told height
  const MeasuringPlane& board;  // z = 0
  const CameraPlace& camera;
  bool height_told = false;

  Error rim_of_hole(const WallFit& found) const;
  Error on_a_face(const WallFit& found) const;
  Error no_wall_under(const WallFit& found, double told_mm) const;
  Error too_little_outline(const WallFit& found) const;
  // `c`: in the plane of the told height.
  Error two_outlines(const Circle& c, double other_radius_mm) const;
};

// Of an edge measured as if it lay flat.
Warning height_unknown(double radius_mm, const CameraPlace& camera);

}  // namespace rondure
