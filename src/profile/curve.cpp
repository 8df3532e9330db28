#include "rondure/profile/curve.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

// From so far off a point's weight falls as 1 / distance (Huber): of Gaussian errors 1 in 16,000. By judgement; side_scenes/study
// checks the sizes that come of it.
constexpr double kRobust_sigma = 4;
constexpr double kMostChi2 = 36;  // of one point: dust shall not ask for a piece of its own
// A bound, by judgement, on a loop that ends by itself once the misfit stays the same to 1e-4.
constexpr int kCurveRounds = 12;

Eigen::Vector2d direction(double rad) { return {std::cos(rad), std::sin(rad)}; }

struct Equations {
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  double chi2 = 0;
};

Equations equations(const ProfileCurve& c, const std::vector<ProfilePointRZ>& points, int from, int to) {
  Equations e;
  const Eigen::Vector2d n = direction(c.normal_rad), along(-n.y(), n.x());
  const double A = c.half_curvature_per_mm, D = c.shift_mm;
  const double E = std::sqrt(std::max(1e-12, 1 + 4 * A * D));
  for (int i = from; i <= to; ++i) {
    const Eigen::Vector2d q = points[i].vec() - c.middle;
    const double u = q.dot(n), v = q.dot(along), P = A * q.squaredNorm() + E * u + D;
    const double root = std::sqrt(std::max(1e-12, 1 + 4 * A * P)), d = 2 * P / (1 + root);
    const Eigen::Vector3d j =
        Eigen::Vector3d(q.squaredNorm() + 2 * D * u / E, E * v, 1 + 2 * A * u / E) / root;
    const double precision = 1 / (points[i].sigma_mm * points[i].sigma_mm),
                 a = std::abs(d) * std::sqrt(precision);
    const double weight = a < kRobust_sigma ? 1 : kRobust_sigma / a;
    e.normal += weight * precision * j * j.transpose();
    e.right += weight * precision * d * j;
    e.chi2 += std::min(a * a, kMostChi2);
  }
  return e;
}

}  // namespace

double ProfileCurve::distance_mm(const Eigen::Vector2d& p) const {
  const Eigen::Vector2d q = p - middle;
  const double E = std::sqrt(std::max(1e-12, 1 + 4 * half_curvature_per_mm * shift_mm));
  const double P = half_curvature_per_mm * q.squaredNorm() + E * q.dot(direction(normal_rad)) + shift_mm;
  return 2 * P / (1 + std::sqrt(std::max(1e-12, 1 + 4 * half_curvature_per_mm * P)));
}

Eigen::Vector2d ProfileCurve::normal() const { return direction(normal_rad); }

Eigen::Vector2d ProfileCurve::center() const {
  const double E = std::sqrt(std::max(1e-12, 1 + 4 * half_curvature_per_mm * shift_mm));
  return middle - E / (2 * half_curvature_per_mm) * normal();
}

Eigen::Vector2d ProfileCurve::foot(const Eigen::Vector2d& p) const {
  if (!is_arc || half_curvature_per_mm == 0) return p - distance_mm(p) * normal();
  const Eigen::Vector2d c = center(), d = p - c;
  return d.norm() > 0 ? Eigen::Vector2d(c + radius_mm() * d.normalized()) : p;
}

Result<ProfileCurve> fit_curve(const std::vector<ProfilePointRZ>& points, int from, int to, bool arc) {
  ProfileCurve c;
  c.points = to - from + 1;
  if (c.points < (arc ? 3 : 2))
    return Error{ErrorCode::kTooFewPoints, "found " + std::to_string(c.points) + " points of the profile"};
  double weight = 0;
  for (int i = from; i <= to; ++i) {
    const double w = 1 / (points[i].sigma_mm * points[i].sigma_mm);
    c.middle += w * points[i].vec(), weight += w;
  }
  c.middle /= weight;
  Eigen::Matrix2d m = Eigen::Matrix2d::Zero();
  for (int i = from; i <= to; ++i) {
    const Eigen::Vector2d d = points[i].vec() - c.middle;
    m += d * d.transpose() / (points[i].sigma_mm * points[i].sigma_mm);
  }
  const double along_rad = 0.5 * std::atan2(2 * m(0, 1), m(0, 0) - m(1, 1));
  c.normal_rad = along_rad + 0.5 * kPi;
  // The normal points to the left of the way from the first point to the last.
  const Eigen::Vector2d way = points[to].vec() - points[from].vec();
  if (direction(along_rad).dot(way) < 0) c.normal_rad += kPi;
  c.is_arc = arc;
  double before = 1e300;
  for (int round = 0; round < kCurveRounds; ++round) {
    const Equations e = equations(c, points, from, to);
    Eigen::Vector3d step = Eigen::Vector3d::Zero();
    if (arc) {
      step = e.normal.ldlt().solve(e.right);
    } else {
      const Eigen::Matrix2d two = e.normal.bottomRightCorner<2, 2>();
      step.tail<2>() = two.ldlt().solve(e.right.tail<2>());
    }
    if (!step.allFinite()) break;
    c.half_curvature_per_mm -= step[0], c.normal_rad -= step[1], c.shift_mm -= step[2];
    if (std::abs(before - e.chi2) < 1e-4 * (1 + e.chi2) && round > 1) break;
    before = e.chi2;
  }
  const Equations e = equations(c, points, from, to);
  c.chi2 = e.chi2;
  if (arc)
    c.covariance = e.normal.inverse();
  else
    c.covariance.bottomRightCorner<2, 2>() = e.normal.bottomRightCorner<2, 2>().inverse();
  if (!c.covariance.allFinite() || !std::isfinite(c.chi2))
    return Error{ErrorCode::kCollinear, "the points of the profile coincide"};
  return c;
}

std::optional<Eigen::Vector2d> meeting(const ProfileCurve& a, const ProfileCurve& b,
                                       const Eigen::Vector2d& about, double reach_mm) {
  Eigen::Vector2d p = about;
  for (int round = 0; round < 30; ++round) {
    const double da = a.distance_mm(p), db = b.distance_mm(p);
    Eigen::Matrix2d j;
    const auto gradient = [&](const ProfileCurve& c) -> Eigen::Vector2d {
      if (!c.is_arc) return c.normal();
      const double side = c.half_curvature_per_mm > 0 ? 1 : -1;
      return side * (p - c.center()).normalized();
    };
    j.row(0) = gradient(a), j.row(1) = gradient(b);
    if (std::abs(j.determinant()) < 0.05) return std::nullopt;
    const Eigen::Vector2d step = j.inverse() * Eigen::Vector2d(da, db);
    p -= step;
    if ((p - about).norm() > reach_mm || !p.allFinite()) return std::nullopt;
    if (step.norm() < 1e-10) return p;
  }
  return std::nullopt;
}

}  // namespace rondure
