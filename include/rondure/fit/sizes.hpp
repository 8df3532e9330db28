// Linear sizes of ISO 14405-1 from points of an outline. A size is a diameter.
//
//   gg  least-squares size (GG): 2 R of the geometric circle
//   gn  minimum circumscribed size (GN), gx maximum inscribed size (GX): fit/reference_circles.hpp
//   cc  circumference diameter (CC): length of the outline / pi
//   ca  area diameter (CA): 2 sqrt(area / pi)
//   lp_max, lp_min, lp_range  two-point sizes (LP) through the centre: r(t) + r(t + pi) over half a turn, and
//   their difference
//
// cc, ca and lp are sizes of the OUTLINE, not of the readings: a polygon through n readings is shorter than a
// circle by 1.6 / n^2 and noise makes its length grow. They come from the smooth profile r(t) about the
// least-squares centre: harmonics 0 to k fitted to the points, k = 15 or as many as the points carry (2
// points a column, and the largest gap seen at least twice per wave). Absent where the points leave gaps
// wider than 45 degrees. With r = a0 + sum A_k cos(k t - p_k):  area = pi (a0^2 + sum A_k^2 / 2),  length =
// integral of sqrt(r^2 + r'^2) (derived). Form of a higher order than k is not in them. Noise: lp_range of a
// perfectly round part is not zero (as for every range). gx is absent on open arcs.
//
// Cost: about 50 ns a point
// and harmonic.
#pragma once
#include <optional>
#include <span>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct OutlineSizes {
  double gg_mm = 0;
  double gn_mm = 0;
  std::optional<double> gx_mm;
  std::optional<double> cc_mm, ca_mm;
  std::optional<double> lp_max_mm, lp_min_mm, lp_range_mm;
  std::optional<double> lp_max_axis_rad;  // direction of the largest two-point size, [0, pi)
  int harmonics = 0;                      // highest order in the smooth profile; 0 = no profile
};

// Errors: those of fit_circle.
Result<OutlineSizes> outline_sizes(std::span<const PartPoint> points);

}  // namespace rondure
