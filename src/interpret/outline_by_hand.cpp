#include <algorithm>
#include <cmath>

#include "outline_parts.hpp"

namespace rondure {
namespace {

bool in_any(const std::vector<OutlineSector>& sectors, double direction_deg) {
  return std::ranges::any_of(sectors, [&](const OutlineSector& s) { return s.holds(direction_deg); });
}

ExcludedSector sector_left_out(const OutlineSector& sector, const Circle& circle,
                               std::span<const MeasuredPoint> points, std::span<const double> direction_deg) {
  ExcludedSector out{sector.from_deg, sector.to_deg, 0, 0, {}};
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!sector.holds(direction_deg[i])) continue;
    const double off_mm = (points[i].at.vec() - circle.center.vec()).norm() - circle.radius_mm;
    if (std::abs(off_mm) > std::abs(out.height_mm)) out.height_mm = off_mm;
    ++out.points;
    if (points[i].line > 0) out.lines.push_back(points[i].line);
  }
  return out;
}

}  // namespace

bool OutlineSector::holds(double direction_deg) const {
  const auto turned = [&](double d) { return d - from_deg - 360 * std::floor((d - from_deg) / 360); };
  const double span_deg = to_deg - from_deg >= 360 ? 360 : turned(to_deg);
  return turned(direction_deg) <= span_deg;
}

Result<void> fit_by_hand(OutlineData& data, std::span<const MeasuredPoint> points,
                         const OutlineOptions& options) {
  OutlineData first;  // its centre is what the directions are seen from
  if (const auto ok = fit_and_exclude(first, points, options); !ok) return ok.error();
  std::vector<double> direction_deg;
  for (const MeasuredPoint& p : points) {
    const Eigen::Vector2d d = p.at.vec() - first.circle.circle.center.vec();
    direction_deg.push_back(deg(wrap_direction_rad(std::atan2(d.y(), d.x()))));
  }
  std::vector<MeasuredPoint> rest;
  for (std::size_t i = 0; i < points.size(); ++i)
    if (!in_any(options.left_out, direction_deg[i])) rest.push_back(points[i]);
  if (const auto ok = fit_and_exclude(data, rest, options); !ok) return ok.error();
  // Sectors that were judged to be damage come back when their middle is taken in.
  std::erase_if(data.excluded, [&](const ExcludedSector& s) {
    const double to_deg = s.to_deg < s.from_deg ? s.to_deg + 360 : s.to_deg;
    return in_any(options.taken_in, 0.5 * (s.from_deg + to_deg));
  });
  const std::vector<char> judged = data.is_used;
  const bool with_sigma = !data.sigma_mm.empty();
  data.used.clear(), data.sigma_mm.clear(), data.is_used.assign(points.size(), 0);
  bool brought_back = false;
  for (std::size_t i = 0, k = 0; i < points.size(); ++i) {
    if (in_any(options.left_out, direction_deg[i])) continue;
    const bool taken_in = in_any(options.taken_in, direction_deg[i]), is_used = judged[k++] != 0 || taken_in;
    brought_back = brought_back || (taken_in && judged[k - 1] == 0);
    data.is_used[i] = is_used ? 1 : 0;
    if (!is_used) continue;
    data.used.push_back(points[i].at);
    if (with_sigma) data.sigma_mm.push_back(points[i].sigma_mm);
  }
  if (brought_back) {
    const auto circle = fit_circle(data.used, data.sigma_mm);
    if (!circle) return circle.error();
    data.circle = *circle;
  }
  for (const OutlineSector& s : options.left_out)
    if (auto out = sector_left_out(s, data.circle.circle, points, direction_deg); out.points > 0)
      data.excluded.push_back(std::move(out));
  return {};
}

}  // namespace rondure
