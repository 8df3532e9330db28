#include "photo/edge/algebraic_circle.hpp"

#include <cmath>

namespace rondure {

// Algebraic circle fit with the gradient-weighted normalisation of Taubin (PAMI 13 (1991) 1115), in Newton
// form after Chernov, "Circular and Linear Regression" (2010), section 5.10.
std::optional<Circle> algebraic_circle(const std::vector<Eigen::Vector2d>& p) {
  if (p.size() < 3) return std::nullopt;
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  for (const auto& v : p) mean += v;
  mean /= static_cast<double>(p.size());
  double xx = 0, yy = 0, xy = 0, xz = 0, yz = 0, zz = 0;
  for (const auto& v : p) {
    const Eigen::Vector2d d = v - mean;
    const double z = d.squaredNorm();
    xx += d.x() * d.x(), yy += d.y() * d.y(), xy += d.x() * d.y();
    xz += d.x() * z, yz += d.y() * z, zz += z * z;
  }
  const double n = static_cast<double>(p.size());
  xx /= n, yy /= n, xy /= n, xz /= n, yz /= n, zz /= n;
  const double mz = xx + yy, cov = xx * yy - xy * xy, var_z = zz - mz * mz;
  const double a3 = 4 * mz, a2 = -3 * mz * mz - zz, a1 = var_z * mz + 4 * cov * mz - xz * xz - yz * yz;
  const double a0 = xz * (xz * yy - yz * xy) + yz * (yz * xx - xz * xy) - var_z * cov;
  double x = 0;
  for (int i = 0; i < 30; ++i) {
    const double slope = a1 + x * (2 * a2 + 3 * a3 * x);
    if (slope == 0) break;
    const double next = x - (a0 + x * (a1 + x * (a2 + x * a3))) / slope;
    if (!std::isfinite(next) || std::abs(next - x) < 1e-12 * (1 + std::abs(x))) break;
    x = next;
  }
  const double det = x * x - x * mz + cov;
  if (!(std::abs(det) > 1e-12 * (1 + mz * mz))) return std::nullopt;
  const Eigen::Vector2d c((xz * (yy - x) - yz * xy) / det / 2, (yz * (xx - x) - xz * xy) / det / 2);
  const double r = std::sqrt(c.squaredNorm() + mz + 2 * x);
  if (!std::isfinite(r)) return std::nullopt;
  return Circle{PartPoint::from(c + mean), r};
}

}  // namespace rondure
