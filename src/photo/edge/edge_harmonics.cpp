#include "photo/edge/edge_harmonics.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// The orders whose heights are taken, and how much more (variance) order 2 may have: edge_harmonics.hpp. The
// gap left by the least coverage, 30 degrees, is half a wave of the lowest of them.
constexpr int kFirst = 6, kLast = 16, kColumns = 1 + 2 * kLast;
constexpr double kLeastHarmonicsCoverage_deg = 330, kSecondOverOthers = 2;
constexpr Eigen::Index kShapeColumns = 7;  // up to order 3
constexpr int kMostShapeFits = 10;         // rounds of leaving out, ended earlier when none changes
constexpr double kFarOff =
    5;  // in standard deviations: a nib or nick, which has its own power in every order
using Row = Eigen::Matrix<double, kColumns, 1>;

struct Polar {
  Row row;
  double deviation = 0;
};

Row harmonics_at(const Eigen::Vector2d& from_center) {
  const std::complex<double> turn = std::polar(1.0, std::atan2(from_center.y(), from_center.x()));
  Row row;
  row[0] = 1;
  std::complex<double> z = 1;
  for (int k = 1; k <= kLast; ++k) z *= turn, row[2 * k - 1] = z.real(), row[2 * k] = z.imag();
  return row;
}

// Least squares of the first `columns` harmonics.
Row fitted(const std::vector<Polar>& points, Eigen::Index columns) {
  Eigen::Matrix<double, kColumns, kColumns> normal = Eigen::Matrix<double, kColumns, kColumns>::Zero();
  Row right = Row::Zero(), harmonics = Row::Zero();
  for (const Polar& p : points) {
    normal.selfadjointView<Eigen::Lower>().rankUpdate(p.row);
    right += p.deviation * p.row;
  }
  const Eigen::MatrixXd low = normal.topLeftCorner(columns, columns);
  harmonics.head(columns) = low.selfadjointView<Eigen::Lower>().ldlt().solve(right.head(columns));
  return harmonics;
}

// Those that lie on a smooth outline, nibs and nicks left out.
std::vector<Polar> smooth_part(const std::vector<Polar>& all) {
  std::vector<Polar> kept = all;
  for (int k = 0; k < kMostShapeFits; ++k) {
    const Row shape = fitted(kept, kShapeColumns);
    std::vector<double> misses;
    for (const Polar& p : kept) misses.push_back(std::abs(p.deviation - shape.dot(p.row)));
    const double widest = kFarOff * 1.4826 * median(std::move(misses));  // of a normal law's median
    std::vector<Polar> next;
    for (const Polar& p : all)
      if (std::abs(p.deviation - shape.dot(p.row)) <= widest) next.push_back(p);
    const bool settled = next.size() == kept.size();
    kept = std::move(next);
    if (settled) break;
  }
  return kept;
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
  if (coverage_deg < kLeastHarmonicsCoverage_deg || points.size() < 4 * kColumns) return 0;
  std::vector<Polar> outline;
  for (const MeasuredPoint& p : points) {
    const Eigen::Vector2d d = p.at.vec() - circle.center.vec();
    outline.push_back({harmonics_at(d), d.norm() - circle.radius_mm});
  }
  outline = smooth_part(outline);
  if (outline.size() < 4 * kColumns) return 0;
  const Row harmonics = fitted(outline, kColumns);
  std::vector<double> errors;
  for (const Polar& p : outline) errors.push_back(p.deviation - harmonics.dot(p.row));
  std::vector<double> power;  // of one component
  for (int k = kFirst; k <= kLast; ++k) power.push_back(harmonics.segment<2>(2 * k - 1).squaredNorm() / 2);
  const double shared = kSecondOverOthers * median(power) / std::numbers::ln2 - told_by_neighbours(errors);
  return shared > 0 ? std::sqrt(shared) : 0;
}

}  // namespace rondure
