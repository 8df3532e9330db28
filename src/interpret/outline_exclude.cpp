#include <algorithm>
#include <cmath>

#include "outline_parts.hpp"

namespace rondure {

Result<void> fit_and_exclude(OutlineData& data, std::span<const MeasuredPoint> points, const OutlineOptions& options) {
  data.is_used.assign(points.size(), 1);
  const bool all_known = std::all_of(points.begin(), points.end(), [](const auto& p) { return p.sigma_mm > 0; });
  for (const MeasuredPoint& p : points) {
    data.used.push_back(p.at);
    if (all_known && !options.sigma_mm && !options.plain) data.sigma_mm.push_back(p.sigma_mm);
  }
  const auto circle = fit_circle(data.used, data.sigma_mm);
  if (!circle) return circle.error();
  data.circle = *circle;
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
  std::sort(profile.begin(), profile.end(), [](const auto& a, const auto& b) { return a.angle_deg < b.angle_deg; });
  return profile;
}

}  // namespace rondure
