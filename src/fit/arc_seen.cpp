#include "rondure/fit/arc_seen.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

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
  std::sort(at.begin(), at.end());
  ArcSeen arc;
  arc.points = static_cast<int>(at.size());
  double start = at.front();  // where the arc begins, behind the largest gap
  for (std::size_t i = 0; i < at.size(); ++i) {
    const double next = i + 1 < at.size() ? at[i + 1] : at.front() + 2 * kPi;
    if (next - at[i] > arc.largest_gap_rad) arc.largest_gap_rad = next - at[i], start = next;
  }
  arc.coverage_rad = 2 * kPi - arc.largest_gap_rad;
  arc.middle_rad = wrap_direction_rad(start + arc.coverage_rad / 2);
  return arc;
}

}  // namespace rondure
