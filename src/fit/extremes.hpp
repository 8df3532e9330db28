// Nearest and farthest points of a cloud, coordinates apart and relative to a reference, so that the passes
// use vector registers.
#pragma once
#include <algorithm>
#include <cmath>
#include <limits>
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure {

struct Cloud {
  std::vector<double> x, y;  // relative to the reference
  std::vector<int> index;    // into the points given
  std::size_t size() const { return x.size(); }
  Eigen::Vector2d at(std::size_t i) const { return {x[i], y[i]}; }
};
// Of points that coincide, one stays. For few points.
void drop_copies(Cloud& cloud);

struct CenteredCloud {
  Cloud cloud;
  Eigen::Vector2d reference{0, 0};
  double extent = 0;  // largest distance from the reference; NaN or infinite when a coordinate is
};
CenteredCloud centered(std::span<const PartPoint> points);

// Squared distances from (cx, cy).
struct Extremes {
  double nearest2 = 0, farthest2 = 0;
};
Extremes extremes(const Cloud& cloud, double cx, double cy);
std::size_t farthest(const Cloud& cloud, double cx, double cy);
struct ExtremePoints {
  std::size_t nearest = 0, farthest = 0;
};
ExtremePoints extreme_points(const Cloud& cloud, double cx, double cy);

// Signed distances from the circle of curvature k through the reference, outward normal (ex, ey) there (k =
// 0: a line).
struct SignedExtremes {
  double least = 0, greatest = 0;
};
SignedExtremes signed_extremes(const Cloud& cloud, double k, double ex, double ey);
inline double signed_distance(double x, double y, double k, double ex, double ey) {
  const double along = x * ex + y * ey, square = x * x + y * y;
  return (2 * along + k * square) / (1 + std::sqrt(std::max(0.0, 1 + k * (2 * along + k * square))));
}

}  // namespace rondure
