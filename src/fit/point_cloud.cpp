#include "point_cloud.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

namespace rondure {

PointCloud survey(std::span<const PartPoint> points, std::span<const double> weights, std::size_t step) {
  PointCloud cloud;
  const std::size_t n = points.size(), few = std::max<std::size_t>(1, n / 16);
  double count = 0;
  for (std::size_t i = 0; i < n; i += few) cloud.reference += points[i].vec(), ++count;
  cloud.reference /= count;
  const double ox = cloud.reference.x(), oy = cloud.reference.y();
  const auto weight = [&](std::size_t i) { return weights.empty() ? 1.0 : weights[i]; };
  double w = 0, mx = 0, my = 0;
  for (std::size_t i = 0; i < n; i += step) {
    w += weight(i), mx += weight(i) * (points[i].x_mm - ox), my += weight(i) * (points[i].y_mm - oy);
  }
  mx /= w, my /= w;
  double xx = 0, xy = 0, yy = 0;
  for (std::size_t i = 0; i < n; i += step) {
    const double u = points[i].x_mm - ox - mx, v = points[i].y_mm - oy - my;
    xx += weight(i) * u * u, xy += weight(i) * u * v, yy += weight(i) * v * v;
  }
  xx /= w, xy /= w, yy /= w;
  cloud.mean = {mx, my};
  cloud.scale_mm = std::sqrt(xx + yy);
  const double angle = 0.5 * std::atan2(2 * xy, xx - yy), half = 0.5 * std::hypot(xx - yy, 2 * xy);
  cloud.long_axis = {std::cos(angle), std::sin(angle)};
  cloud.long_variance = 0.5 * (xx + yy) + half;
  cloud.short_variance = std::max(0.0, 0.5 * (xx + yy) - half);
  return cloud;
}

Result<std::vector<double>> weights_of(std::span<const PartPoint> points, std::span<const double> sigma_mm) {
  std::vector<double> weights;
  if (sigma_mm.empty()) return weights;
  if (sigma_mm.size() != points.size())
    return Error{ErrorCode::kBadArgument, "found " + std::to_string(sigma_mm.size()) + " uncertainties for " +
                                              std::to_string(points.size()) +
                                              " points, needed one each or none"};
  weights.reserve(sigma_mm.size());
  for (const double s : sigma_mm) {
    if (!(s > 0) || !std::isfinite(s) || !std::isfinite(1 / (s * s)))
      return Error{ErrorCode::kBadArgument,
                   "found an uncertainty of " + std::to_string(s) + " mm, needed one above 0"};
    weights.push_back(1 / (s * s));
  }
  return weights;
}

int count_distinct(std::span<const PartPoint> points, int enough) {
  std::vector<PartPoint> seen;
  for (const PartPoint& p : points) {
    const auto same = [&](const PartPoint& q) { return q.x_mm == p.x_mm && q.y_mm == p.y_mm; };
    if (std::none_of(seen.begin(), seen.end(), same)) seen.push_back(p);
    if (static_cast<int>(seen.size()) >= enough) break;
  }
  return static_cast<int>(seen.size());
}

std::optional<Error> refusal(std::span<const PartPoint> points, const PointCloud& cloud, int needed) {
  if (!std::isfinite(cloud.scale_mm)) {
    for (std::size_t i = 0; i < points.size(); ++i)
      if (!std::isfinite(points[i].x_mm) || !std::isfinite(points[i].y_mm))
        return Error{ErrorCode::kNotFinite,
                     "point " + std::to_string(i + 1) + " of " + std::to_string(points.size())};
    return Error{ErrorCode::kNotFinite, "the points lie too far apart for the arithmetic"};
  }
  // Counting takes a pass of its own, so only where it can matter.
  const bool thin = !(cloud.short_variance > 1e-10 * cloud.long_variance);
  if (points.size() < 64 || thin) {
    const int distinct = count_distinct(points, needed);
    if (distinct < needed)
      return Error{ErrorCode::kTooFewPoints, "found " + std::to_string(distinct) +
                                                 " different points, needed " + std::to_string(needed) +
                                                 " or more"};
  }
  if (!thin) return {};
  double farthest = 0, largest = 0;
  const Eigen::Vector2d across(-cloud.long_axis.y(), cloud.long_axis.x());
  double slope = 0;  // the axis from the variances is good to half the digits only: refine it
  for (const PartPoint& p : points) {
    const Eigen::Vector2d d = p.vec() - cloud.reference - cloud.mean;
    slope += across.dot(d) * cloud.long_axis.dot(d);
  }
  slope /= cloud.long_variance * static_cast<double>(points.size());
  for (const PartPoint& p : points) {
    const Eigen::Vector2d d = p.vec() - cloud.reference - cloud.mean;
    farthest = std::max(farthest, std::abs(across.dot(d) - slope * cloud.long_axis.dot(d)));
    largest = std::max({largest, std::abs(p.x_mm), std::abs(p.y_mm)});
  }
  const double rounding = 4 * std::numeric_limits<double>::epsilon() * (largest + cloud.scale_mm);
  if (farthest <= rounding)
    return Error{ErrorCode::kCollinear,
                 "all " + std::to_string(points.size()) + " points, needed a curved outline"};
  return {};
}

Result<SurveyedPoints> surveyed(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                                int needed) {
  constexpr std::size_t kEnough = 8192;  // points for the start of a fit
  const std::size_t n = points.size();
  if (n < static_cast<std::size_t>(needed))
    return Error{ErrorCode::kTooFewPoints, "found " + std::to_string(n) + ", needed " +
                                               std::to_string(needed) + " different points or more"};
  auto weights = weights_of(points, sigma_mm);
  if (!weights) return weights.error();
  SurveyedPoints s{*std::move(weights), {}, n > 2 * kEnough ? n / kEnough : 1};
  s.cloud = survey(points, s.weights, s.step);
  if (s.step > 1 && !(s.cloud.short_variance > 1e-6 * s.cloud.long_variance))
    s.cloud = survey(points, s.weights, s.step = 1);
  if (auto refused = refusal(points, s.cloud, needed)) return *refused;
  return s;
}

}  // namespace rondure
