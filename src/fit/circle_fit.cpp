#include "rondure/fit/circle_fit.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <cmath>
#include <string>

#include "circle_start.hpp"
#include "circle_sums.hpp"
#include "point_cloud.hpp"

namespace rondure {
namespace {

// A bound, by judgement, on a loop that ends by itself once a step is small. Hard sets: study_fit_failures,
// tests/fit/test_circle_certified.cpp.
constexpr int kMaxIterations = 100;
constexpr double kQuadratic =
    1e-8;  // a step this small (in units of the extent) leaves an error of its square
constexpr double kFlattest = 1e-9;  // extent / radius below which the answer is a straight line

struct Minimum {
  AnchoredCircle circle;
  CircleSums sums;
  int iterations = 0;
  bool found = false;
};

// Shift, turn and change of curvature, in the order of circle_sums.hpp.
AnchoredCircle moved(const AnchoredCircle& from, const Eigen::Vector3d& step) {
  AnchoredCircle to = from;
  to.anchor += step[0] * from.normal;
  const double c = std::cos(step[1]), s = std::sin(step[1]);
  to.normal = {c * from.normal.x() - s * from.normal.y(), s * from.normal.x() + c * from.normal.y()};
  const double curvature = 1 / from.radius_mm + step[2];
  if (curvature < 0) to.normal = -to.normal;  // bent the other way
  to.radius_mm = 1 / std::abs(curvature);
  return to;
}

// Newton with Marquardt's damping from `start`. Parameters in units of length: shift, turn * scale, curvature
// * scale^2.
Minimum descend(std::span<const PartPoint> points, std::span<const double> weights, double scale_mm,
                const AnchoredCircle& start) {
  const Eigen::Vector3d unit(1, 1 / scale_mm, 1 / (scale_mm * scale_mm));
  const auto sums_at = [&](const AnchoredCircle& c) {
    return circle_sums(points, weights, c, c.radius_mm > 4 * scale_mm);
  };
  Minimum best{start, sums_at(start)};
  double damping = 0;
  for (; best.iterations < kMaxIterations; ++best.iterations) {
    const Eigen::Vector3d g = unit.cwiseProduct(best.sums.gradient);
    const Eigen::Matrix3d n = unit.asDiagonal() * best.sums.normal_matrix * unit.asDiagonal();
    const Eigen::Matrix3d h = unit.asDiagonal() * best.sums.hessian * unit.asDiagonal();
    const Eigen::Matrix3d damped = h + damping * Eigen::Matrix3d(n.diagonal().asDiagonal());
    const Eigen::LLT<Eigen::Matrix3d> newton(damped);
    Eigen::Vector3d step;
    if (newton.info() == Eigen::Success) {
      step = newton.solve(-g);
    } else {
      const Eigen::LLT<Eigen::Matrix3d> gauss(n +
                                              (damping + 1e-12) * Eigen::Matrix3d(n.diagonal().asDiagonal()));
      if (gauss.info() != Eigen::Success) break;
      step = gauss.solve(-g);
    }
    if (!step.allFinite()) break;
    const bool tiny = step.norm() <= kQuadratic * scale_mm;
    const double largest = 0.5 * scale_mm;  // no turn or shift beyond what the formulas stand for
    const double turn = std::max(std::abs(step[0]), std::abs(step[1]));
    if (turn > largest) step *= largest / turn;
    const AnchoredCircle next = moved(best.circle, unit.cwiseProduct(step));
    if (tiny && damping < 1e-6) {
      // Points that lie on the circle to rounding: the sums must be those of the last circle.
      if (-0.5 * step.dot(g) > 1e-9 * best.sums.chi2) best.sums = sums_at(next);
      best.circle = next;
      best.found = newton.info() == Eigen::Success;
      return best;
    }
    if (scale_mm / next.radius_mm < kFlattest) break;
    const CircleSums sums = sums_at(next);
    if (sums.chi2 <= best.sums.chi2) {
      best.circle = next, best.sums = sums;
      damping = damping < 1e-8 ? 0 : damping * 0.1;
    } else if (step.norm() <= 1e-6 * scale_mm) {  // at the rounding of the sum of squares
      best.circle = next, best.sums = sums, damping = 0;
    } else {
      damping = std::max(1e-4, damping * 10);
      if (damping > 1e12) break;
    }
  }
  return best;
}

// A symmetric outline can hold the search on a saddle: a point at the very centre pushes it nowhere. Seen
// only where residuals are as large as the radius.
Minimum off_the_saddle(std::span<const PartPoint> points, std::span<const double> weights, double scale_mm,
                       Minimum at) {
  const double r = at.circle.radius_mm;
  if (!at.found || at.sums.ssq < 4e-4 * r * r * static_cast<double>(points.size())) return at;
  const Eigen::Vector2d center = at.circle.reference + at.circle.center();
  for (const PartPoint& p : points) {
    if ((p.vec() - center).norm() > 1e-6 * r) continue;
    AnchoredCircle aside = at.circle;
    aside.anchor += 0.05 * r * at.circle.normal;
    return descend(points, weights, scale_mm, aside);
  }
  return at;
}

// The circle about the mean of the points.
AnchoredCircle centred_circle(std::span<const PartPoint> points, const PointCloud& cloud) {
  AnchoredCircle c;
  c.reference = cloud.reference;
  double sum = 0;
  for (const PartPoint& p : points) sum += (p.vec() - cloud.reference - cloud.mean).norm();
  c.radius_mm = sum / static_cast<double>(points.size());
  c.anchor = cloud.mean + c.radius_mm * c.normal;
  return c;
}

Circle absolute(const AnchoredCircle& c) { return {PartPoint::from(c.reference + c.center()), c.radius_mm}; }

CircleFit to_fit(std::span<const PartPoint> points, const Minimum& at) {
  CircleFit fit;
  fit.circle = absolute(at.circle);
  fit.points = static_cast<int>(points.size());
  const double n = static_cast<double>(points.size());
  fit.ssq = at.sums.ssq;
  fit.chi2 = at.sums.chi2;
  fit.rms_mm = std::sqrt(fit.ssq / n);
  fit.sigma_mm = n > 3 ? std::sqrt(fit.ssq / (n - 3)) : 0;
  fit.iterations = at.iterations + 1;
  // From (shift, turn, curvature) to (x, y, R); scaled so that the inverse keeps its digits.
  const double r = at.circle.radius_mm;
  const Eigen::Vector2d e = at.circle.normal, tangent(-e.y(), e.x());
  Eigen::Matrix3d t;
  t.col(0) << e, 0;
  t.col(1) << -r * tangent, 0;
  t.col(2) << r * r * e, -r * r;
  const Eigen::Vector3d unit = at.sums.normal_matrix.diagonal().cwiseSqrt().cwiseInverse();
  const Eigen::Matrix3d scaled = unit.asDiagonal() * at.sums.normal_matrix * unit.asDiagonal();
  const Eigen::Matrix3d half = t * unit.asDiagonal();
  fit.cofactor = half * scaled.inverse() * half.transpose();
  return fit;
}

}  // namespace

Result<CircleFit> fit_circle(std::span<const PartPoint> points, std::span<const double> sigma_mm) {
  const auto seen = surveyed(points, sigma_mm, 3);
  if (!seen) return seen.error();
  const auto& [weights, cloud, step] = *seen;

  Minimum best = descend(points, weights, cloud.scale_mm, hyper_circle(points, weights, cloud, step));
  best = off_the_saddle(points, weights, cloud.scale_mm, best);
  if (!std::isfinite(best.sums.chi2))
    return *refusal(points, survey(points, weights), 3);  // a point that the thinned survey did not see
  // Ask for a second minimum among the points where the first answer is much larger than they are and hardly
  // better than a straight line.
  const double n = static_cast<double>(points.size());
  const double line_chi2 = cloud.short_variance * best.sums.weight;
  const bool flat = best.circle.radius_mm > 3 * cloud.scale_mm &&
                    (line_chi2 - best.sums.chi2) * std::max(n - 3, 1.0) < 4 * best.sums.chi2;
  if (flat || !best.found) {
    const Minimum compact = descend(points, weights, cloud.scale_mm, centred_circle(points, cloud));
    if (compact.found && compact.circle.radius_mm < 3 * cloud.scale_mm) {
      CircleFit fit = to_fit(points, compact);
      if (best.found && best.sums.chi2 < compact.sums.chi2)
        fit.flat_minimum = CircleMinimum{absolute(best.circle), best.sums.ssq};
      return fit;
    }
  }
  if (!best.found)
    return Error{ErrorCode::kCollinear, "no circle fits these points better than a straight line"};
  return to_fit(points, best);
}

}  // namespace rondure
