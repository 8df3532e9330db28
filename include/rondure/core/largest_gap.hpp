// The largest gap between directions round a circle.
#pragma once
#include <algorithm>
#include <vector>

namespace rondure {

struct DirectionGap {
  double from = 0;  // the direction before the gap
  double width = 0;
};

// Directions within [0, turn), at least one; turn: 360 for degrees, 2 pi for radians. Of equal gaps the one over the
// direction 0. One direction alone leaves a gap of a whole turn.
inline DirectionGap largest_gap(std::vector<double> directions, double turn) {
  std::sort(directions.begin(), directions.end());
  DirectionGap gap{directions.back(), directions.front() + turn - directions.back()};
  for (std::size_t i = 1; i < directions.size(); ++i)
    if (const double width = directions[i] - directions[i - 1]; width > gap.width)
      gap = {directions[i - 1], width};
  return gap;
}

}  // namespace rondure
