// What flat parallel jaws see of a set of points: the widths of its convex hull. Exact: every edge of the
// hull and every pair of its corners that jaws can hold is tried (rotating calipers; M. Shamos, thesis, Yale
// 1978, from memory).
//
// greatest = largest distance of two points; least = smallest width between parallel lines. Jaws bridge
// hollows, see nothing of odd lobes (every width of r = R + A cos 3t is 2 R), and on few points stand on
// chords: n points of a circle have a least width of 2 R cos(pi/n). For the two-point sizes of the part
// rather than the points: fit/sizes.hpp.
//
// Cost: O(n log n).
#pragma once
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct CaliperWidths {
  double greatest_mm = 0, least_mm = 0;
  double greatest_axis_rad = 0, least_axis_rad = 0;  // direction of measuring, [0, pi)
};

// Errors: kTooFewPoints (none), kNotFinite.
Result<CaliperWidths> caliper_widths(std::span<const PartPoint> points);

// Corners of the convex hull, counter-clockwise, as indices; no three on a line. One or two indices for
// points that have no area.
std::vector<int> convex_hull(std::span<const PartPoint> points);

}  // namespace rondure
