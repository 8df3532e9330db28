#include <algorithm>
#include <cmath>

#include "outline_parts.hpp"
#include "rondure/fit/robust_circle.hpp"

namespace rondure {
namespace {

ExcludedSector sector_of(std::span<const int> indices, double from_rad, double to_rad, double height_mm,
                         std::span<const MeasuredPoint> points) {
  ExcludedSector out{deg(from_rad), deg(to_rad), height_mm, static_cast<int>(indices.size()), {}};
  for (const int i : indices)
    if (const int line = points[static_cast<std::size_t>(i)].line; line > 0) out.lines.push_back(line);
  std::sort(out.lines.begin(), out.lines.end());
  return out;
}

std::vector<ExcludedSector> excluded_of(const RobustCircle& robust, std::span<const MeasuredPoint> points) {
  std::vector<ExcludedSector> out;
  for (const DefectSector& s : robust.sectors)
    out.push_back(sector_of(s.indices, s.from_rad, s.to_rad, s.height_mm, points));
  for (const SlippedPoint& s : robust.slips)
    out.push_back(sector_of(std::span(&s.index, 1), s.at_rad, s.at_rad, s.height_mm, points));
  return out;
}

}  // namespace

Result<void> fit_and_exclude(OutlineData& data, std::span<const MeasuredPoint> points,
                             const OutlineOptions& options) {
  std::vector<PartPoint> all;
  std::vector<double> sigma;
  for (const MeasuredPoint& p : points) {
    all.push_back(p.at);
    if (options.sigma_mm)
      sigma.push_back(*options.sigma_mm);
    else if (p.sigma_mm > 0)
      sigma.push_back(p.sigma_mm);
  }
  if (sigma.size() != all.size() || options.plain) sigma.clear();
  constexpr std::size_t kLeastToExclude = 8;  // fewer points cannot tell a slip from form
  const auto take_all = [&]() -> Result<void> {
    const auto circle = fit_circle(all, sigma);
    if (!circle) return circle.error();
    data.circle = *circle;
    data.used = std::move(all);
    if (!options.sigma_mm) data.sigma_mm = std::move(sigma);
    data.is_used.assign(points.size(), 1);
    return {};
  };
  if (options.plain || points.size() < kLeastToExclude) return take_all();
  auto robust = fit_robust_circle(all, sigma);
  if (!robust) return take_all();
  data.circle = robust->fit;
  data.excluded = excluded_of(*robust, points);
  for (std::size_t i = 0; i < points.size(); ++i) {
    data.is_used.push_back(robust->used[i]);
    if (!robust->used[i]) continue;
    data.used.push_back(all[i]);
    if (!sigma.empty() && !options.sigma_mm) data.sigma_mm.push_back(sigma[i]);
  }
  return {};
}

std::vector<ProfilePoint> profile_of(std::span<const MeasuredPoint> points, const OutlineData& data) {
  constexpr std::size_t kMost = 720;
  const Circle& circle = data.circle.circle;
  std::vector<ProfilePoint> profile;
  const std::size_t step = std::max<std::size_t>(1, (points.size() + kMost - 1) / kMost);
  for (std::size_t i = 0; i < points.size(); i += step) {
    const double dx = points[i].at.x_mm - circle.center.x_mm, dy = points[i].at.y_mm - circle.center.y_mm;
    profile.push_back({deg(wrap_direction_rad(std::atan2(dy, dx))), std::hypot(dx, dy) - circle.radius_mm,
                       data.is_used[i] != 0});
  }
  std::sort(profile.begin(), profile.end(),
            [](const auto& a, const auto& b) { return a.angle_deg < b.angle_deg; });
  return profile;
}

}  // namespace rondure
