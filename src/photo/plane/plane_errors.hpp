// What each independent error of a measuring plane, one standard deviation large, does to a circle read with it.
#pragma once
#include <vector>

#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

// How a circle's fit moves: its diameter, and the second harmonic of its radius. mm.
struct RimShift {
  double diameter_mm = 0, cos2_mm = 0, sin2_mm = 0;
};

struct PlaneErrors {
  // Pose and lens, focal length taken on trust, a lens left out. Two circles read with planes of one board (at
  // whatever heights) have the same errors in the same order.
  std::vector<RimShift> pose;
  RimShift height;
};
// Empty where the circle has no picture.
PlaneErrors plane_errors(const MeasuringPlane& plane, const Circle& circle);

}  // namespace rondure
