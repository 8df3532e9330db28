#include "edge_harmonics.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr int kFirst = 6, kLast = 16, kColumns = 1 + 2 * kLast;
constexpr double kLeastCoverage_deg = 330, kSecondOverOthers = 2;
using Row = Eigen::Matrix<double, kColumns, 1>;

Row harmonics_at(const Eigen::Vector2d& from_center) {
  const std::complex<double> turn = std::polar(1.0, std::atan2(from_center.y(), from_center.x()));
  Row row;
  row[0] = 1;
  std::complex<double> z = 1;
  for (int k = 1; k <= kLast; ++k) z *= turn, row[2 * k - 1] = z.real(), row[2 * k] = z.imag();
  return row;
}

// What a first-order autoregression makes of these errors at low orders: variance of one component.
double told_by_neighbours(const std::vector<double>& errors) {
  double own = 0, with_next = 0;
  for (std::size_t i = 0; i < errors.size(); ++i)
    own += errors[i] * errors[i], with_next += errors[i] * errors[(i + 1) % errors.size()];
  const auto count = static_cast<double>(errors.size());
  const double phi = own > 0 ? std::clamp(with_next / own, 0.0, 0.95) : 0;
  return 2 / count * (own / count) * (1 + phi) / (1 - phi);
}

}  // namespace

double shared_second_harmonic_mm(const std::vector<MeasuredPoint>& points, const Circle& circle,
                                 double coverage_deg) {
  if (coverage_deg < kLeastCoverage_deg || points.size() < 4 * kColumns) return 0;
  Eigen::Matrix<double, kColumns, kColumns> normal = Eigen::Matrix<double, kColumns, kColumns>::Zero();
  Row right = Row::Zero();
  for (const MeasuredPoint& p : points) {
    const Eigen::Vector2d d = p.at.vec() - circle.center.vec();
    const Row row = harmonics_at(d);
    normal.selfadjointView<Eigen::Lower>().rankUpdate(row);
    right += (d.norm() - circle.radius_mm) * row;
  }
  const Row harmonics = normal.selfadjointView<Eigen::Lower>().ldlt().solve(right);
  std::vector<double> errors;
  for (const MeasuredPoint& p : points) {
    const Eigen::Vector2d d = p.at.vec() - circle.center.vec();
    errors.push_back(d.norm() - circle.radius_mm - harmonics.dot(harmonics_at(d)));
  }
  std::vector<double> power;  // of one component
  for (int k = kFirst; k <= kLast; ++k) power.push_back(harmonics.segment<2>(2 * k - 1).squaredNorm() / 2);
  const double shared = kSecondOverOthers * median(power) / std::numbers::ln2 - told_by_neighbours(errors);
  return shared > 0 ? std::sqrt(shared) : 0;
}

}  // namespace rondure
