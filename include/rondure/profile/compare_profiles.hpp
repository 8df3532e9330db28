// Where a running surface has worn: one side view against an earlier one, place by place along the axis.
//
// Places count from the left face, brought together by the ratio of the whole widths where both have one; it draws B's bow
// out too (a part that shrank stays comparable). For every surface of A, the radius of B less that of A at B's points, the
// twentieth at either end left out, in pictures twelve blurs or up to a third: corners. A running mean over a fifteenth.
//   mean     median of the differences: B is larger or smaller as a whole. u: of both diameters, halved.
//   deepest  how far the lowest smoothed place lies below the highest tenth. u: the differences' own scatter about the smoothed
//            line or that of the surface with most points, whichever is larger, at both places, neighbours three by three
//            sharing an error; and what the views do not share: B's place along A by both ends (times the change of slope),
//            half the shrinkage (across and along may differ) and both lengths' u (times the change of radius), light.
//            Worn: beyond six times that (the lowest of fifteen places was looked for). Even wear shows in `mean` alone.
//
// How B was cut into pieces does not matter: a worn crown is no arc any more.
#pragma once
#include <string>
#include <vector>

#include "rondure/profile/side_profile.hpp"

namespace rondure {

inline constexpr double kWearTold_u = 6;

struct SurfaceWear {
  std::string name;
  Estimate mean_mm;          // radius, B - A
  Estimate deepest_mm;       // >= 0
  double deepest_at_mm = 0;  // along the axis, from the left face, in A's length
  bool worn = false;
  double least_worn_mm = 0;  // the highest tenth of the smoothed line, which `deepest` counts from
  std::vector<Eigen::Vector2d> difference;  // (along the axis, radius B - A), as in the points
  std::vector<Eigen::Vector2d> smoothed;    // the same places
};

// Surfaces of A with ten or more of B's points along them; empty: none.
std::vector<SurfaceWear> compare_profiles(const SideProfile& a, const SideProfile& b);

}  // namespace rondure
