#include "rondure/fit/ellipse_fit.hpp"

#include <Eigen/Cholesky>
#include <cmath>
#include <limits>
#include <string>

#include "ellipse_start.hpp"
#include "ellipse_sums.hpp"
#include "point_cloud.hpp"
#include "rondure/core/dense_solve.hpp"
#include "rondure/fit/circle_fit.hpp"

namespace rondure {
namespace {

// A bound, by judgement, on a loop that ends by itself once a step is small; twice the circle's, as saddles are stepped off on
// the way. Hard sets: study_fit_failures, tests/fit/test_ellipse_certified.cpp.
constexpr int kMaxEllipseIterations = 200;
constexpr double kQuadraticEllipse = 1e-8;  // as in circle_fit.cpp
constexpr double kLongest = 100;    // long axis in units of the extent at which the search has run away
constexpr double kThinnest = 1e-7;  // short axis in the same units
constexpr double kClearCut = 0.02;  // rms residual / short axis above which one start is not enough

struct EllipseMinimum {
  RegularEllipse ellipse;
  EllipseSums sums;
  int iterations = 0;
  bool found = false;
};

// The Newton step; where the Hessian has negative curvature, the step of its absolute value (a descent
// direction), or along that curvature when the gradient is already zero. `convex` tells which.
EllipseVector newton_step(const EllipseSums& at, double scale_mm, bool& convex) {
  const EllipseVector unit = (at.normal_matrix.diagonal().array() + 1e-300).rsqrt();
  const EllipseMatrix h = unit.asDiagonal() * at.hessian * unit.asDiagonal();
  const EllipseVector g = unit.cwiseProduct(at.gradient);
  const Eigen::LLT<EllipseMatrix> newton(h);
  convex = newton.info() == Eigen::Success;
  if (convex) return unit.cwiseProduct(newton.solve(-g));
  const SymmetricEigen eigen = symmetric_eigen(h);
  const EllipseMatrix vectors = eigen.vectors;
  const EllipseVector values = eigen.values.cwiseAbs(), size = values.cwiseMax(1e-14 * values.maxCoeff());
  const EllipseVector along = vectors.transpose() * -g;
  const EllipseVector step = unit.cwiseProduct(vectors * along.cwiseQuotient(size));
  if (step.norm() > 1e-6 * scale_mm) return step;
  const EllipseVector down = unit.cwiseProduct(vectors.col(0));
  return 0.01 * scale_mm * down.normalized();
}

// Newton with step halving; steps off a saddle along the direction of negative curvature.
EllipseMinimum descend(std::span<const PartPoint> points, std::span<const double> weights, double scale_mm,
                       const RegularEllipse& start) {
  EllipseMinimum best{start, ellipse_sums(points, weights, start)};
  for (; best.iterations < kMaxEllipseIterations; ++best.iterations) {
    bool convex = false;
    EllipseVector step = newton_step(best.sums, scale_mm, convex);
    if (!step.allFinite()) return best;
    const double size = step.norm(), promise = -0.5 * step.dot(best.sums.gradient);
    // Done when the step is tiny, or (short arcs, where parameters slide along a valley) changes nothing that
    // could be seen.
    const bool done = convex && (size <= kQuadraticEllipse * scale_mm || promise <= 1e-15 * best.sums.chi2);
    const double longest = best.ellipse.parameters[2];
    if (size > longest) step *= longest / size;
    bool accepted = false;
    for (int halving = 0; halving < 40 && !accepted; ++halving, step *= 0.5) {
      RegularEllipse next = best.ellipse;
      next.parameters += step;
      if (next.semi_minor() <= 1e-9 * scale_mm) continue;
      if (done && promise <= 1e-9 * best.sums.chi2) {
        best.ellipse = next, best.found = next.semi_minor() > kThinnest * scale_mm;
        return best;
      }
      const EllipseSums sums = ellipse_sums(points, weights, next);
      if (sums.chi2 > best.sums.chi2 && !done) continue;
      best.ellipse = next, best.sums = sums, accepted = true;
    }
    if (done) {
      best.found = best.ellipse.semi_minor() > kThinnest * scale_mm;
      return best;
    }
    if (!accepted || best.ellipse.semi_major() > kLongest * scale_mm) return best;
  }
  return best;
}

EllipseFit to_fit(std::span<const PartPoint> points, const EllipseMinimum& at) {
  EllipseFit fit;
  const RegularEllipse& e = at.ellipse;
  fit.parameters = e.parameters;
  fit.parameters.head<2>() += e.reference;
  fit.ellipse.center = PartPoint::from(fit.parameters.head<2>());
  fit.ellipse.semi_major_mm = e.semi_major();
  fit.ellipse.semi_minor_mm = e.semi_minor();
  fit.ellipse.major_axis_rad = wrap_axis_rad(e.major_axis_rad());
  const double n = static_cast<double>(points.size());
  fit.points = static_cast<int>(points.size());
  fit.ssq = at.sums.ssq;
  fit.chi2 = at.sums.chi2;
  fit.rms_mm = std::sqrt(fit.ssq / n);
  fit.sigma_mm = n > 5 ? std::sqrt(fit.ssq / (n - 5)) : 0;
  fit.iterations = at.iterations + 1;
  const EllipseVector unit = at.sums.normal_matrix.diagonal().cwiseSqrt().cwiseInverse();
  const EllipseMatrix scaled = unit.asDiagonal() * at.sums.normal_matrix * unit.asDiagonal();
  fit.cofactor = unit.asDiagonal() * EllipseMatrix(inverse_symmetric(scaled)) * unit.asDiagonal();
  return fit;
}

}  // namespace

Result<EllipseFit> fit_ellipse(std::span<const PartPoint> points, std::span<const double> sigma_mm) {
  const auto seen = surveyed(points, sigma_mm, 5);
  if (!seen) return seen.error();
  const auto& [weights, cloud, step] = *seen;

  EllipseMinimum best;
  const auto offer = [&, &weights = weights, &cloud = cloud](const RegularEllipse& start) {
    const EllipseMinimum m = descend(points, weights, cloud.scale_mm, start);
    const bool better = m.found && (!best.found || m.sums.chi2 < best.sums.chi2 * (1 - 1e-9));
    if (better) best = m;
  };
  if (const auto start = direct_ellipse(points, weights, cloud, step)) offer(*start);
  const auto clear_cut = [&] {
    return best.found && std::sqrt(best.sums.ssq / static_cast<double>(points.size())) <
                             kClearCut * best.ellipse.semi_minor();
  };
  if (!clear_cut()) {
    Eigen::Vector2d center(0, 0);
    double radius = 0, circle_chi2 = std::numeric_limits<double>::infinity();
    if (const auto circle = fit_circle(points, sigma_mm)) {
      center = circle->circle.center.vec() - cloud.reference;
      radius = circle->circle.radius_mm;
      circle_chi2 = circle->chi2;
    }
    for (const RegularEllipse& start : further_ellipses(cloud, center, radius)) offer(start);
    if (best.sums.chi2 > circle_chi2 * (1 + 1e-9))
      best.found = false;  // a dent beside the way to the infinitely long ellipse
  }
  if (!best.found)
    return Error{
        ErrorCode::kNoEllipse,
        "the sum of squares keeps falling while the long axis grows; a parabola or a line fits better"};
  return to_fit(points, best);
}

}  // namespace rondure
