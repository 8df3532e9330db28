#include <algorithm>
#include <cmath>

#include "outline_parts.hpp"
#include "rondure/fit/robust_circle.hpp"
#include "rondure/interpret/running_fit.hpp"

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

constexpr std::size_t kLeastForRobust = 8;  // fewer points cannot tell a small slip from form
constexpr std::size_t kMostInOrder = 40;    // readings: beyond, the others tell enough without the order

// What is left out of the sectors and slips once the readings that the reader keeps are in again.
std::vector<ExcludedSector> excluded_of(const RobustCircle& robust, std::span<const MeasuredPoint> points,
                                        const std::vector<char>& is_used) {
  std::vector<ExcludedSector> out;
  const auto add = [&](std::vector<int> indices, double from_rad, double to_rad, double height_mm) {
    std::erase_if(indices, [&](int i) { return is_used[static_cast<std::size_t>(i)] != 0; });
    if (!indices.empty()) out.push_back(sector_of(indices, from_rad, to_rad, height_mm, points));
  };
  for (const DefectSector& s : robust.sectors) add(s.indices, s.from_rad, s.to_rad, s.height_mm);
  for (const SlippedPoint& s : robust.slips) add({s.index}, s.at_rad, s.at_rad, s.height_mm);
  return out;
}

// Readings in the order in which they were taken: those besides that the others contradict grossly (running_fit.hpp). Two
// neighbouring slips among ten pass for form when all are looked at together, and not when each is judged as it comes.
template <class Kept>
void exclude_doubted(OutlineData& data, std::span<const MeasuredPoint> points, double least_scatter_mm,
                     const Kept& kept) {
  RunningFit fit({least_scatter_mm, false});
  for (std::size_t i = 0; i < points.size(); ++i) fit.add(points[i].at, kept(i));
  if (!fit.answer().circle) return;
  std::size_t out = 0;
  for (std::size_t i = 0; i < points.size(); ++i) out += !data.is_used[i] || fit.doubted()[i];
  if (3 * out > points.size()) return;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!fit.doubted()[i] || !data.is_used[i]) continue;
    data.is_used[i] = 0;
    const Eigen::Vector2d d = points[i].at.vec() - fit.answer().circle->center.vec();
    const double at_rad = wrap_direction_rad(std::atan2(d.y(), d.x()));
    const int index = static_cast<int>(i);
    data.excluded.push_back(
        sector_of(std::span(&index, 1), at_rad, at_rad, fit.answer().deviation_mm[i], points));
  }
}

// Beside a sector that is left out of a photographed edge its own ends stay in, lower than what stands out from the texture,
// and would be carried on into the gap: half its half-width on either side does not count for the fits.
void keep_clear_of_sectors(OutlineData& data, const RobustCircle& robust,
                           std::span<const MeasuredPoint> points) {
  // By judgement; checked by the nibs and flats with texture of tests/bench/study_photo_form. kDense:
  // readings taken by hand are seldom so many, and none of them is left out for its neighbour.
  constexpr double kClear = 0.5;
  constexpr std::size_t kDense = 120;
  if (points.size() < kDense || !robust.outline_circle) return;
  const Eigen::Vector2d center = robust.outline_circle->center.vec();
  for (const DefectSector& s : robust.sectors) {
    const double half_rad = wrap_direction_rad(s.to_rad - s.from_rad) / 2, middle_rad = s.from_rad + half_rad;
    for (std::size_t i = 0; i < points.size(); ++i) {
      const Eigen::Vector2d d = points[i].at.vec() - center;
      const double off_rad = std::remainder(std::atan2(d.y(), d.x()) - middle_rad, 2 * kPi);
      if (std::abs(off_rad) <= (1 + kClear) * half_rad) data.is_used[i] = 0;
    }
  }
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
  const auto kept = [&](std::size_t i) {
    return points[i].line > 0 &&
           std::count(options.kept_lines.begin(), options.kept_lines.end(), points[i].line) > 0;
  };
  data.is_used.assign(points.size(), 1);
  if (!options.plain && points.size() >= kLeastForRobust) {
    if (const auto robust = fit_robust_circle(all, sigma)) {
      for (std::size_t i = 0; i < points.size(); ++i) data.is_used[i] = robust->used[i] || kept(i);
      data.excluded = excluded_of(*robust, points, data.is_used);
      if (options.correlated) keep_clear_of_sectors(data, *robust, points);
    }
  }
  if (!options.plain && points.size() <= kMostInOrder && !points.empty() && points[0].line > 0)
    exclude_doubted(data, points, std::max(options.resolution_mm, options.sigma_mm.value_or(0)), kept);
  std::vector<double> used_sigma;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!data.is_used[i]) continue;
    data.used.push_back(all[i]);
    if (!sigma.empty()) used_sigma.push_back(sigma[i]);
  }
  const auto circle = fit_circle(data.used, used_sigma);
  if (!circle) return circle.error();
  data.circle = *circle;
  if (!options.sigma_mm) data.sigma_mm = std::move(used_sigma);
  return {};
}

std::vector<ProfilePoint> profile_of(std::span<const MeasuredPoint> points, const OutlineData& data) {
  constexpr std::size_t kMost = 720;  // two a degree: as a chart of the profile shows them
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
