#include "rondure/fit/harmonics.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "noise_knowledge.hpp"
#include "rondure/core/dense_solve.hpp"
#include "rondure/fit/arc_seen.hpp"
#include "rondure/fit/distributions.hpp"
#include "rondure/fit/form_rows.hpp"

namespace rondure {
namespace {

constexpr int kLeakOrders = 6;  // above the highest carried

Eigen::MatrixXd inverse_of_leading(const Eigen::MatrixXd& normal, int columns) {
  return inverse_symmetric(normal.topLeftCorner(columns, columns));
}

// Largest standard deviation among the orders up to K, over that of evenly spaced points.
double inflation(const Eigen::MatrixXd& cofactor, int order, double points) {
  double worst = 0;
  for (int k = 1; k <= order; ++k) {
    const Eigen::Matrix2d block = cofactor.block<2, 2>(2 * k - 1, 2 * k - 1);
    const double half = block.trace() / 2;
    const double largest = half + std::sqrt(std::max(0.0, half * half - block.determinant()));
    worst = std::max(worst, largest);
  }
  return std::sqrt(worst * points / 2);
}

int highest_order_carried(const FormRows& rows, int most) {
  const Eigen::MatrixXd normal = gram(rows.flat);
  const double weight = rows.flat.col(0).squaredNorm();
  for (int order = most; order >= 2; --order) {
    const Eigen::MatrixXd cofactor = inverse_of_leading(normal, 2 * order + 1);
    if (cofactor.allFinite() && cofactor.diagonal().minCoeff() > 0 &&
        inflation(cofactor, order, weight) <= kLargestInflation)
      return order;
  }
  return 0;
}

// Least squares on one alternative of the noise.
struct Solution {
  Eigen::VectorXd coefficients;
  Eigen::MatrixXd cofactor, leak;  // leak: what orders above K add to the coefficients
  double ssq = 0, log_weight = 0;
};

Solution solve(const FormRows& rows, double dof) {
  Solution out;
  const Eigen::MatrixXd normal = gram(rows.flat);
  const SymmetricSolver solver(normal);
  out.coefficients = solver.solve(cross(rows.flat, rows.y));
  out.cofactor = solver.solve(Eigen::MatrixXd(Eigen::MatrixXd::Identity(normal.rows(), normal.cols())));
  out.leak = solver.solve(cross(rows.flat, rows.form));
  out.ssq = (rows.y - rows.flat * out.coefficients).squaredNorm();
  out.log_weight = rows.log_weight - 0.5 * solver.pivots().array().abs().max(1e-300).log().sum() -
                   0.5 * dof * std::log(std::max(out.ssq, 1e-300));
  return out;
}

// Power that the kLeakOrders orders above K are taken to have together: each as much as an order of the upper
// half of those seen, without what noise gives these; not more than a ninth of all that is seen.
double power_above(const Eigen::VectorXd& mean, std::span<const Solution> solutions, double sigma2,
                   double dof, int order) {
  const int first = order / 2 + 1;
  const auto from = 2 * std::max(first, 2) - 1, count = static_cast<int>(mean.size()) - from;
  double upper = mean.segment(from, count).squaredNorm();
  for (const Solution& s : solutions)
    upper -=
        s.log_weight * (sigma2 > 0 ? sigma2 : s.ssq / dof) * s.cofactor.diagonal().segment(from, count).sum();
  const double each = std::max(0.0, upper) * 2 / count;
  return std::min(kLeakOrders * each, mean.tail(mean.size() - 3).squaredNorm() / 9);
}

}  // namespace

HarmonicAnalysis analyse_harmonics(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                                   const Circle& circle, const FormRadiusOptions& options) {
  HarmonicAnalysis out;
  const int n = static_cast<int>(points.size());
  const int most = std::min(n / 3, options.correlated ? kHighestUprCorrelated : kHighestUpr);
  if (most < 2) return out;
  double ssq = 0;
  for (const PartPoint& p : points)
    ssq += std::pow((p.vec() - circle.center.vec()).norm() - circle.radius_mm, 2);
  const NoiseKnowledge noise = noise_knowledge(points, sigma_mm, circle.radius_mm, ssq, 3, options);
  const Linearisation at{circle.center, circle.radius_mm, 0};
  const int order = highest_order_carried(circle_rows(points, noise.relative, at, most, 1, 0), most);
  if (order < 2) return out;

  const int columns = 2 * order + 1;
  const double dof = n - columns;
  std::vector<FormRows> alternatives;
  if (options.correlated) {
    const Linearisation seam{circle.center, circle.radius_mm, arc_seen(points, circle.center).middle_rad};
    const OrderedPoints ordered = in_order_round(points, noise.relative, seam);
    alternatives = correlated_alternatives(
        circle_rows(ordered.points, ordered.relative_sigma, at, order, order + 1, order + kLeakOrders),
        ordered.gaps);
  } else {
    alternatives = {circle_rows(points, noise.relative, at, order, order + 1, order + kLeakOrders)};
  }
  std::vector<Solution> solutions;
  double best = -1e300, sum = 0;
  for (const FormRows& rows : alternatives) {
    solutions.push_back(solve(rows, dof));
    best = std::max(best, solutions.back().log_weight);
  }
  for (Solution& s : solutions) sum += s.log_weight = std::exp(s.log_weight - best);  // now the weight
  Eigen::VectorXd mean = Eigen::VectorXd::Zero(columns);
  double variance = 0;
  for (Solution& s : solutions) {
    s.log_weight /= sum;
    mean += s.log_weight * s.coefficients;
    variance += s.log_weight * (dof > 0 ? s.ssq / dof : 0);
  }
  const bool known = noise.range.known();
  const double sigma2 = known ? noise.range.lo * noise.range.lo : variance;
  if (!known && dof <= 0) return out;
  const double leak2 = power_above(mean, solutions, known ? sigma2 : 0, dof, order) / (2 * kLeakOrders);

  for (int k = 2; k <= order; ++k) {
    const int first = 2 * k - 1;
    const Eigen::Vector2d c = mean.segment<2>(first);
    HarmonicEstimate h;
    h.upr = k;
    Eigen::Matrix2d covariance = Eigen::Matrix2d::Zero();
    h.p_zero = 0;
    for (const Solution& s : solutions) {
      const double s2 = known ? sigma2 : s.ssq / dof;
      const Eigen::Matrix2d cofactor = s.cofactor.block<2, 2>(first, first);
      const Eigen::Vector2d own = s.coefficients.segment<2>(first);
      const Eigen::Matrix2d noise_part = s2 * cofactor;
      const Eigen::Matrix2d leak_part =
          leak2 * s.leak.middleRows<2>(first) * s.leak.middleRows<2>(first).transpose();
      covariance += s.log_weight * (noise_part + leak_part + (own - c) * (own - c).transpose());
      const double chi2 = s2 > 0 ? own.dot(noise_part.inverse() * own) : (own.norm() > 0 ? 1e300 : 0);
      h.p_zero += s.log_weight * (known ? chi2_upper_p(chi2, 2) : f_upper_p(chi2 / 2, 2, dof));
    }
    const double length = c.norm();
    const Eigen::Vector2d along = length > 0 ? Eigen::Vector2d(c / length) : Eigen::Vector2d(1, 0);
    h.amplitude_mm = circle.radius_mm * length;
    h.u_amplitude_mm = circle.radius_mm * std::sqrt(along.dot(covariance * along));
    h.corrected_mm = circle.radius_mm * std::sqrt(std::max(0.0, length * length - covariance.trace()));
    h.phase_rad = wrap_direction_rad(std::atan2(c.y(), c.x())) / k;
    out.harmonics.push_back(h);
  }
  out.sigma_mm = circle.radius_mm * std::sqrt(sigma2);
  out.residual_mm = circle.radius_mm * std::sqrt(variance);
  out.dof = dof;
  return out;
}

}  // namespace rondure
