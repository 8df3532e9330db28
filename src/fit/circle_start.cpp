#include "circle_start.hpp"

#include <cmath>

namespace rondure {
namespace {

// Moments in the principal axes of the points, in units of cloud.scale_mm.
struct Moments {
  double uu = 0, vv = 0, uz = 0, vz = 0, zz = 0;  // uv = 0 by the choice of axes
  double z() const { return uu + vv; }
};

Moments moments(std::span<const PartPoint> points, std::span<const double> weights, const PointCloud& cloud,
                std::size_t step) {
  Moments m;
  double total = 0;
  const double k = 1 / cloud.scale_mm, c = k * cloud.long_axis.x(), s = k * cloud.long_axis.y();
  const double ox = cloud.reference.x(), oy = cloud.reference.y(), mx = cloud.mean.x(), my = cloud.mean.y();
  for (std::size_t i = 0; i < points.size(); i += step) {
    const double dx = points[i].x_mm - ox - mx, dy = points[i].y_mm - oy - my;
    const double u = c * dx + s * dy, v = c * dy - s * dx, z = u * u + v * v,
                 w = weights.empty() ? 1 : weights[i];
    total += w, m.uu += w * u * u, m.vv += w * v * v, m.uz += w * u * z, m.vz += w * v * z, m.zz += w * z * z;
  }
  for (double* f : {&m.uu, &m.vv, &m.uz, &m.vz, &m.zz}) *f /= total;
  return m;
}

// Smallest root in [0, smallest spread) of the characteristic equation
//   f(h) = zz - z^2 - 4 z h - 4 h^2 - uz^2/(uu - h) - vz^2/(vv - h) = 0,
// which falls and is concave there: Newton, kept inside its bracket.
double smallest_root(const Moments& m) {
  double lo = 0, hi = std::min(m.uu, m.vv), h = 0;
  for (int i = 0; i < 60; ++i) {
    const double a = m.uu - h, b = m.vv - h;
    if (!(a > 0) || !(b > 0)) return lo;
    const double f = m.zz - m.z() * m.z() - 4 * m.z() * h - 4 * h * h - m.uz * m.uz / a - m.vz * m.vz / b;
    const double slope = -4 * m.z() - 8 * h - m.uz * m.uz / (a * a) - m.vz * m.vz / (b * b);
    (f > 0 ? lo : hi) = h;
    double next = h - f / slope;
    if (!(next > lo && next < hi)) next = 0.5 * (lo + hi);
    if (std::abs(next - h) <= 1e-13 * (next + 1e-3)) return next;
    h = next;
  }
  return h;
}

}  // namespace

AnchoredCircle hyper_circle(std::span<const PartPoint> points, std::span<const double> weights,
                            const PointCloud& cloud, std::size_t step) {
  const Moments m = moments(points, weights, cloud, step);
  const double h = smallest_root(m);
  constexpr double kFlattestStart = 1e-6;  // curvature times scale of the flattest start
  double a = 1, d = 2 * h - m.z();
  double b = -m.uz / (m.uu - h), c = -m.vz / (m.vv - h);
  if (!std::isfinite(b)) b = 0;
  if (!std::isfinite(c)) c = 0;
  const double norm = std::sqrt(std::max(b * b + c * c - 4 * a * d, 1e-300));
  a /= norm, b /= norm, c /= norm, d /= norm;
  const double curvature = std::max(2 * a, kFlattestStart);
  // Nearest point of the circle to the mean, without losing digits on flat arcs: signed distance 2 d / (1 +
  // |(b, c)|).
  const double slope = std::hypot(b, c);
  const double along = -2 * d / (1 + slope);
  const Eigen::Vector2d normal_uv = slope > 1e-12 ? Eigen::Vector2d(b, c) / slope : Eigen::Vector2d(1, 0);
  const Eigen::Vector2d e1 = cloud.long_axis, e2(-e1.y(), e1.x());
  AnchoredCircle circle;
  circle.reference = cloud.reference;
  circle.normal = normal_uv.x() * e1 + normal_uv.y() * e2;
  circle.anchor = cloud.mean + cloud.scale_mm * along * circle.normal;
  circle.radius_mm = cloud.scale_mm / curvature;
  return circle;
}

}  // namespace rondure
