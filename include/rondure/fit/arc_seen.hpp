// How much of the circle the points show, as seen from a centre.
#pragma once
#include <span>

#include "rondure/core/geometry.hpp"

namespace rondure {

struct ArcSeen {
  double coverage_rad = 0;  // 2 pi minus the largest gap
  double middle_rad = 0;    // direction of the middle of the arc, [0, 2 pi)
  double largest_gap_rad = 0;
  int points = 0;
  // Points all round: the largest gap is under 45 deg, or under 1.6 times the even spacing where the points are few.
  bool full_circle() const;
};

ArcSeen arc_seen(std::span<const PartPoint> points, const PartPoint& center);

}  // namespace rondure
