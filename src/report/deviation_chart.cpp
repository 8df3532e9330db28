#include <algorithm>
#include <cmath>

#include "charts.hpp"
#include "svg.hpp"

namespace rondure {
namespace {
// The drawing's own px: as wide as a small phone shows without scaling.
constexpr double kWidth = 360, kHeight = 170, kLeft = 44, kRight = 342, kTop = 12, kBottom = 140;

// The angles shown: all round, or for an arc the stretch that was seen with a little room.
struct Span {
  double from_deg = 0, to_deg = 360;
  double step_deg = 60;
  double unwrap(double angle_deg) const {
    return angle_deg < from_deg - 1e-9                 ? angle_deg + 360
           : angle_deg > to_deg + 1e-9 && from_deg < 0 ? angle_deg - 360
                                                       : angle_deg;
  }
  double x(double angle_deg) const {
    return kLeft + (kRight - kLeft) * (angle_deg - from_deg) / (to_deg - from_deg);
  }
};

// `sorted` by angle. An arc of less than half a turn starts after the largest gap.
Span span_of(const std::vector<ProfilePoint>& sorted) {
  double gap = sorted.front().angle_deg + 360 - sorted.back().angle_deg, start = sorted.front().angle_deg;
  for (std::size_t i = 1; i < sorted.size(); ++i)
    if (const double g = sorted[i].angle_deg - sorted[i - 1].angle_deg; g > gap)
      gap = g, start = sorted[i].angle_deg;
  if (gap < 180) return {};
  const double arc = 360 - gap, room = std::max(0.05 * arc, 0.5);
  const double step = arc > 90 ? 30 : arc > 40 ? 15 : arc > 12 ? 5 : arc > 4 ? 2 : 0.5;
  return {start - room, start + arc + room, step};
}
}  // namespace

std::string deviation_chart(const Feature& feature, const LengthWords& words) {
  if (!feature.circle || feature.profile.size() < 3) return {};
  double largest = 1e-5;
  for (const auto& p : feature.profile)
    if (p.used) largest = std::max(largest, std::abs(p.deviation_mm));
  const DeviationUnit unit = deviation_unit(words);
  const double step = round_step_mm(largest * 0.6 / unit.mm), step_mm = step * unit.mm;
  const double full_mm = std::max(largest * 1.1, step_mm);
  const auto y_of = [&](double mm) {
    return (kTop + kBottom) / 2 - (kBottom - kTop) / 2 * std::clamp(mm / full_mm, -1.0, 1.0);
  };
  auto profile = feature.profile;
  std::sort(profile.begin(), profile.end(),
            [](const auto& a, const auto& b) { return a.angle_deg < b.angle_deg; });
  const Span span = span_of(profile);
  const auto x_of = [&](double angle_deg) { return span.x(angle_deg); };
  for (auto& p : profile) p.angle_deg = span.unwrap(p.angle_deg);
  std::sort(profile.begin(), profile.end(),
            [](const auto& a, const auto& b) { return a.angle_deg < b.angle_deg; });
  Svg svg(kWidth, kHeight);
  if (feature.roundness && feature.roundness->noise_floor_mm.value_or(0) > 0) {
    const double half_mm = *feature.roundness->noise_floor_mm / 2;
    svg.rect(kLeft, y_of(half_mm), kRight - kLeft, y_of(-half_mm) - y_of(half_mm), "noise");
  }
  for (std::size_t i = 0; i < feature.excluded.size(); ++i) {
    auto s = feature.excluded[i];
    s.from_deg = span.unwrap(s.from_deg), s.to_deg = span.unwrap(s.to_deg);
    const auto strip = [&](double from, double to) {
      svg.rect(x_of(from), kTop, std::max(x_of(to) - x_of(from), 2.0), kBottom - kTop, "left-out");
    };
    if (s.to_deg < s.from_deg)
      strip(s.from_deg, span.to_deg), strip(span.from_deg, s.to_deg);
    else
      strip(s.from_deg, std::min(s.to_deg, span.to_deg));
    svg.text(x_of(s.from_deg) + 2, kTop + 10, place_letter(i), "mark");
  }
  for (const int level : {-1, 0, 1}) {
    svg.line(kLeft, y_of(level * step_mm), kRight, y_of(level * step_mm), level ? "grid" : "reference");
    svg.text(kLeft - 4, y_of(level * step_mm) + 4, level ? fmt::format("{:+g}", level * step) : "0", "tick",
             "end");
  }
  for (double angle = std::ceil(span.from_deg / span.step_deg) * span.step_deg; angle <= span.to_deg;
       angle += span.step_deg) {
    svg.line(x_of(angle), kTop, x_of(angle), kBottom, "grid");
    const double shown = span.to_deg - span.from_deg == 360 ? angle : deg(wrap_direction_rad(rad(angle)));
    svg.text(x_of(angle), kBottom + 14, fmt::format("{:.3g}\u00b0", shown), "tick", "middle");
  }
  const bool few = profile.size() <= 60;
  std::vector<std::pair<double, double>> run;
  double last = -1e9;
  for (const auto& p : profile) {
    if (!p.used || p.angle_deg - last > (few ? 60 : 12)) svg.path(run, "outline"), run.clear();
    if (p.used) run.emplace_back(x_of(p.angle_deg), y_of(p.deviation_mm));
    last = p.angle_deg;
    if (!p.used)
      svg.circle(x_of(p.angle_deg), y_of(p.deviation_mm), 1.6, "left-out-point");
    else if (few)
      svg.circle(x_of(p.angle_deg), y_of(p.deviation_mm), 2.2, "point");
  }
  svg.path(run, "outline");
  svg.text(4, kHeight - 4,
           fmt::format("deviation in {} by angle, counter-clockwise from the right", unit.symbol), "tick");
  return svg.finish("Deviation from the least-squares circle against angle, for " + feature.name);
}

}  // namespace rondure
