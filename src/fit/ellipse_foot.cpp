#include <algorithm>
#include <cmath>

#include "ellipse_sums.hpp"
#include "rondure/fit/ellipse_fit.hpp"

namespace rondure {

// In the first quadrant the foot is (a^2 x/(t + a^2), b^2 y/(t + b^2)) with t the root above -b^2 of
// (a x/(t + a^2))^2 + (b y/(t + b^2))^2 = 1. The left side is convex and falls, so Newton from the left never
// oversteps. The unknown here is s = t + b^2, which keeps its digits near 0.
Eigen::Vector2d nearest_on_ellipse(double a, double b, double x, double y) {
  const double sx = x < 0 ? -1 : 1, sy = y < 0 ? -1 : 1;
  const double px = std::abs(x), py = std::abs(y), focal2 = (a - b) * (a + b);
  if (py <= 1e-15 * b && a * px < focal2) {  // on the long axis, inside the evolute
    const double c = a * px / focal2;
    return {sx * c, sy * std::sqrt((1 - c) * (1 + c))};
  }
  if (px == 0 && py == 0) return {0, 1};
  double s = std::max(b * py, a * px - focal2);
  for (int i = 0; i < 100; ++i) {
    const double u = a * px / (s + focal2), v = b * py / s;
    const double g = u * u + v * v - 1, slope = -2 * (u * u / (s + focal2) + v * v / s);
    const double next = s - g / slope;
    if (!(next > s * (1 + 1e-16))) break;
    s = next;
  }
  const double c = a * px / (s + focal2), v = b * py / s, norm = std::hypot(c, v);
  return {sx * c / norm, sy * v / norm};
}

EllipseFoot nearest_point(const Ellipse& e, const PartPoint& point) {
  const double c = std::cos(e.major_axis_rad), s = std::sin(e.major_axis_rad);
  const Eigen::Vector2d d = point.vec() - e.center.vec();
  const Eigen::Vector2d local(c * d.x() + s * d.y(), c * d.y() - s * d.x());
  const double a = e.semi_major_mm, b = e.semi_minor_mm;
  const Eigen::Vector2d u = nearest_on_ellipse(a, b, local.x(), local.y());
  const Eigen::Vector2d foot(a * u.x(), b * u.y()),
      normal = Eigen::Vector2d(b * u.x(), a * u.y()).normalized();
  return {PartPoint::from(e.center.vec() +
                          Eigen::Vector2d(c * foot.x() - s * foot.y(), s * foot.x() + c * foot.y())),
          normal.dot(local - foot)};
}

}  // namespace rondure
