// Centres that are equally far from given points.
#pragma once
#include <Eigen/Core>
#include <optional>

namespace rondure {

// Centre of the circle through three points; nothing when they are collinear.
inline std::optional<Eigen::Vector2d> circumcenter(const Eigen::Vector2d& p, const Eigen::Vector2d& q,
                                                   const Eigen::Vector2d& r) {
  const Eigen::Vector2d b = q - p, c = r - p;
  const double cross = 2 * (b.x() * c.y() - b.y() * c.x());
  if (cross == 0) return {};
  const double b2 = b.squaredNorm(), c2 = c.squaredNorm();
  return p + Eigen::Vector2d(c.y() * b2 - b.y() * c2, b.x() * c2 - c.x() * b2) / cross;
}

// Point equally far from p and q, and equally far from r and s; nothing when the two bisectors are parallel.
inline std::optional<Eigen::Vector2d> bisector_crossing(const Eigen::Vector2d& p, const Eigen::Vector2d& q,
                                                        const Eigen::Vector2d& r, const Eigen::Vector2d& s) {
  const Eigen::Vector2d a = q - p, b = s - r;
  const double det = a.x() * b.y() - a.y() * b.x();
  if (det == 0) return {};
  // relative to the middle of p and q, to keep digits
  const Eigen::Vector2d middle = 0.5 * (p + q);
  const double right = b.dot(0.5 * (r + s) - middle);
  return middle + Eigen::Vector2d(-a.y() * right, a.x() * right) / det;
}

}  // namespace rondure
