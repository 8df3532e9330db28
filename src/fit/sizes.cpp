#include "rondure/fit/sizes.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "rondure/core/dense_solve.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/reference_circles.hpp"

namespace rondure {
namespace {

// Orders of the smooth profile and the widest gap, as sizes.hpp defines the sizes: by judgement. Such a gap still carries
// four orders; tests/fit/test_sizes.cpp checks circle, ellipse and lobes.
constexpr int kHighest = 15;
constexpr double kWidestGap_rad = 45 * kPi / 180;
constexpr int kSteps = 1440;  // directions in a turn

// r(t) = c[0] + sum c[2k-1] cos kt + c[2k] sin kt
struct SmoothProfile {
  int harmonics = 0;
  Eigen::VectorXd c;
};

std::optional<SmoothProfile> smooth_profile(std::span<const PartPoint> points, const Circle& about) {
  std::vector<double> angle;
  for (const PartPoint& p : points)
    angle.push_back(wrap_direction_rad(std::atan2(p.y_mm - about.center.y_mm, p.x_mm - about.center.x_mm)));
  std::vector<double> sorted = angle;
  std::sort(sorted.begin(), sorted.end());
  double gap = sorted.front() + 2 * kPi - sorted.back();
  for (std::size_t i = 1; i < sorted.size(); ++i) gap = std::max(gap, sorted[i] - sorted[i - 1]);
  if (gap > kWidestGap_rad) return {};
  const double n = static_cast<double>(points.size());
  SmoothProfile profile;
  profile.harmonics =
      std::min({kHighest, static_cast<int>((n / 2 - 1) / 2), static_cast<int>(std::floor(kPi / gap))});
  if (profile.harmonics < 2) return {};
  const int columns = 2 * profile.harmonics + 1;
  Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(columns, columns);
  Eigen::VectorXd right = Eigen::VectorXd::Zero(columns), row(columns);
  row[0] = 1;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double c = std::cos(angle[i]), s = std::sin(angle[i]);
    double ck = 1, sk = 0;
    for (int k = 1; k <= profile.harmonics; ++k) {
      const double next = c * ck - s * sk;
      sk = s * ck + c * sk, ck = next;
      row[2 * k - 1] = ck, row[2 * k] = sk;
    }
    const double deviation = (points[i].vec() - about.center.vec()).norm() - about.radius_mm;
    normal.selfadjointView<Eigen::Lower>().rankUpdate(row);
    right += deviation * row;
  }
  const PositiveSolver solver(normal);
  if (!solver.ok()) return {};
  profile.c = solver.solve(right);
  profile.c[0] += about.radius_mm;
  return profile;
}

void outline_lengths(const SmoothProfile& p, OutlineSizes& sizes) {
  std::vector<double> r(kSteps);
  double length = 0, area = 0;
  for (int i = 0; i < kSteps; ++i) {
    const double t = 2 * kPi * i / kSteps;
    double radius = p.c[0], slope = 0;
    for (int k = 1; k <= p.harmonics; ++k) {
      const double c = std::cos(k * t), s = std::sin(k * t);
      radius += p.c[2 * k - 1] * c + p.c[2 * k] * s;
      slope += k * (p.c[2 * k] * c - p.c[2 * k - 1] * s);
    }
    r[static_cast<std::size_t>(i)] = radius;
    length += std::hypot(radius, slope), area += radius * radius;
  }
  // The trapezoid rule is exact to rounding for these sums of waves.
  sizes.cc_mm = 2 * length / kSteps;
  sizes.ca_mm = 2 * std::sqrt(area / kSteps);
  double most = 0, least = std::numeric_limits<double>::infinity();
  for (int i = 0; i < kSteps / 2; ++i) {
    const double width = r[static_cast<std::size_t>(i)] + r[static_cast<std::size_t>(i + kSteps / 2)];
    if (width > most) most = width, sizes.lp_max_axis_rad = 2 * kPi * i / kSteps;
    least = std::min(least, width);
  }
  sizes.lp_max_mm = most, sizes.lp_min_mm = least, sizes.lp_range_mm = most - least;
  sizes.harmonics = p.harmonics;
}

}  // namespace

Result<OutlineSizes> outline_sizes(std::span<const PartPoint> points) {
  const auto fit = fit_circle(points);
  if (!fit) return fit.error();
  OutlineSizes sizes;
  sizes.gg_mm = fit->circle.diameter_mm();
  if (const auto gn = minimum_circumscribed(points)) sizes.gn_mm = gn->circle.diameter_mm();
  if (const auto gx = maximum_inscribed(points)) sizes.gx_mm = gx->circle.diameter_mm();
  if (const auto profile = smooth_profile(points, fit->circle)) outline_lengths(*profile, sizes);
  return sizes;
}

}  // namespace rondure
