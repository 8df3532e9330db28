// From the outline of a body of revolution to its meridian r(z): the axis by symmetry, both flanks as one.
//
// Axis. The outline's distance from its centre of area, by direction, is mirrored about every axis in turn;
// axes that mirror the outline onto itself are refined on all points (Gauss-Newton on the distances across the
// outline between each point and the mirrored other flank). A body of revolution seen square to its axis has
// one radius at each place along it: an axis along which the outline turns back (a groove seen from its end) is
// ruled out. Of two axes that remain the one with the flatter ends is taken, and `two_ways` set where the other's are
// no more bowed than a tilt of 6 degrees makes them; where both have flat ends (a plain
// cylinder) nothing in the outline tells them apart: the one nearer to the picture's x is taken and `two_ways`
// set. z runs from left to right in the picture (upwards where the axis stands upright), from the left end.
// Errors: kNoAnswer: no axis of symmetry, a round outline (seen from above), a needed axis that is none.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/profile/curve.hpp"

namespace rondure {

struct OutlinePoint {
  Eigen::Vector2d at;       // mm, any frame with y up
  Eigen::Vector2d outward;  // unit normal away from the part
  double sigma_mm = 0;
};

struct MeridianAxis {
  Eigen::Vector2d origin = Eigen::Vector2d::Zero();  // on the axis at the left end: z = 0
  Eigen::Vector2d along = {1, 0};                    // unit, the way z runs
  Eigen::Vector2d radial() const { return {-along.y(), along.x()}; }
  double angle_rad() const { return std::atan2(along.y(), along.x()); }
};

struct MeridianPoint {
  ProfilePointRZ point;
  Eigen::Vector2d outward;  // unit, (z, r)
  std::optional<double>
      half_difference_mm;  // upper minus mean flank, across the profile; absent: one flank only
};

struct Meridian {
  MeridianAxis axis;
  std::vector<MeridianPoint> points;  // from the left end's middle to the right end's middle
  double length_mm = 0;
  double asymmetry_mm = 0;  // rms of the flanks' half difference
  double noise_mm = 0;      // robust, of one point of the mean flank, from neighbouring half differences
  bool two_ways = false;
};

// `step_mm`: spacing of the outline's points. `axis_deg`: the axis's direction, when stated (+-20 degrees).
Result<Meridian> fold_outline(const std::vector<OutlinePoint>& outline, double step_mm,
                              std::optional<double> axis_deg = {});

}  // namespace rondure
