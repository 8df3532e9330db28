#include "rondure/fit/arc_seen.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "rondure/core/largest_gap.hpp"

namespace rondure {

bool ArcSeen::full_circle() const {
  return points > 2 && largest_gap_rad <= std::max(rad(45), 1.6 * 2 * kPi / points);
}

ArcSeen arc_seen(std::span<const PartPoint> points, const PartPoint& center) {
  std::vector<double> at;
  at.reserve(points.size());
  for (const PartPoint& p : points)
    at.push_back(wrap_direction_rad(std::atan2(p.y_mm - center.y_mm, p.x_mm - center.x_mm)));
  if (at.empty()) return {};
  ArcSeen arc;
  arc.points = static_cast<int>(at.size());
  const DirectionGap gap_rad = largest_gap(std::move(at), 2 * kPi);
  arc.largest_gap_rad = gap_rad.width;
  arc.coverage_rad = 2 * kPi - gap_rad.width;
  arc.middle_rad = wrap_direction_rad(gap_rad.from + gap_rad.width + arc.coverage_rad / 2);
  return arc;
}

}  // namespace rondure
