#include "profile_section.hpp"

#include <algorithm>
#include <cmath>

#include "charts.hpp"
#include "page_sections.hpp"
#include "rondure/record/profile_section.hpp"
#include "rondure/report/profile_text.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// The drawing's own px: as wide as a small phone shows without scaling.
constexpr double kWidth = 360, kHeight = 300, kRoom = 26;
constexpr double kChartHeight = 150, kLeft = 44, kRight = 342, kTop = 14, kBottom = 122;
// Of an arc's length, at each end: there stand points of the face beside it, which would set the chart's scale.
constexpr double kEnds = 0.01;

// Centre of the arc through its two ends.
Eigen::Vector2d center_of(const ProfileSegment& s) {
  const Eigen::Vector2d a(s.from_mm, s.from_radius_mm), b(s.to_mm, s.to_radius_mm), way = b - a;
  const double half = 0.5 * way.norm(), r = std::max(s.radius_mm->value, half);
  const Eigen::Vector2d up = Eigen::Vector2d(-way.y(), way.x()).normalized();
  return 0.5 * (a + b) + (s.concave ? 1 : -1) * std::sqrt(r * r - half * half) * up;
}

}  // namespace

std::string profile_drawing(const SideProfile& profile, const LengthWords& words, const SideProfile* earlier,
                            const std::vector<ProfileMark>& marks) {
  if (profile.points.size() < 3) return {};
  double long_mm = 0, radius_mm = 0;
  for (const SideProfile* one : {&profile, earlier ? earlier : &profile})
    for (const Eigen::Vector2d& p : one->points)
      long_mm = std::max(long_mm, p.x()), radius_mm = std::max(radius_mm, p.y());
  if (!(long_mm > 0) || !(radius_mm > 0)) return {};
  const double scale = std::min((kWidth - 2 * kRoom) / long_mm, (kHeight - 2 * kRoom) / (2 * radius_mm));
  const double left = 0.5 * (kWidth - scale * long_mm), middle = 0.5 * kHeight;
  const auto x = [&](double z) { return left + scale * z; };
  Svg svg(kWidth, kHeight);
  const auto outline = [&](const SideProfile& of, const char* css) {
    std::vector<std::pair<double, double>> line;
    for (const auto& p : of.points) line.emplace_back(x(p.x()), middle - scale * p.y());
    for (auto p = of.points.rbegin(); p != of.points.rend(); ++p)
      line.emplace_back(x(p->x()), middle + scale * p->y());
    svg.path(line, css, true);
  };
  outline(profile, "outline");
  if (earlier) outline(*earlier, "ellipse");
  svg.line(x(0) - 14, middle, x(long_mm) + 14, middle, "grid");
  int row = 0;
  for (const ProfileSegment& s : (earlier ? *earlier : profile).segments) {
    if (s.kind == SegmentKind::kFace || s.kind == SegmentKind::kChamfer || s.kind == SegmentKind::kFillet)
      continue;
    svg.text(x(0.5 * (s.from_mm + s.to_mm)), middle - 6 - 13 * (row++ % 3), s.name, "label", "middle");
  }
  for (const ProfileMark& mark : marks) {
    const auto near = std::ranges::min_element(
        profile.points, {}, [&](const Eigen::Vector2d& p) { return std::abs(p.x() - mark.at_mm); });
    const double top = middle - scale * near->y();
    svg.line(x(mark.at_mm), top - 6, x(mark.at_mm), top + 6, "mark-line");
    svg.text(x(mark.at_mm), top - 9, mark.letter, "mark", "middle");
  }
  const double unit_mm = words.inch_first() ? kMmPerInch : 1;
  const double bar = round_step_mm(0.25 * long_mm / unit_mm), bar_mm = bar * unit_mm;
  svg.line(left, kHeight - 8, left + scale * bar_mm, kHeight - 8, "mark-line");
  svg.text(left + scale * bar_mm + 6, kHeight - 4, fmt::format("{:g} {}", bar, words.symbol()), "tick");
  return svg.finish("profile of the part, true to scale");
}

std::string arc_deviations(const SideProfile& profile, const ProfileSegment& arc, const LengthWords& words) {
  if (arc.kind != SegmentKind::kArc || !arc.radius_mm || !(arc.to_mm > arc.from_mm)) return {};
  const Eigen::Vector2d center = center_of(arc);
  std::vector<std::pair<double, double>> off;
  std::vector<double> sizes;
  for (const Eigen::Vector2d& p : profile.points)
    if (p.x() > arc.from_mm + kEnds * (arc.to_mm - arc.from_mm) &&
        p.x() < arc.to_mm - kEnds * (arc.to_mm - arc.from_mm)) {
      const double d = (arc.concave ? -1 : 1) * ((p - center).norm() - arc.radius_mm->value);
      off.emplace_back(p.x(), d), sizes.push_back(std::abs(d));
    }
  if (off.size() < 5) return {};
  std::sort(sizes.begin(), sizes.end());
  const double full_mm = std::max(1.3 * sizes[sizes.size() * 9 / 10], 1e-4);
  const double unit_mm = words.inch_first() ? kMmPerInch / 1000 : 0.001;
  const double step_mm = round_step_mm(0.35 * full_mm / unit_mm) * unit_mm;
  const auto x = [&](double z) {
    return kLeft + (kRight - kLeft) * (z - arc.from_mm) / (arc.to_mm - arc.from_mm);
  };
  const auto y = [&](double mm) {
    return 0.5 * (kTop + kBottom) - 0.5 * (kBottom - kTop) * std::clamp(mm / full_mm, -1.0, 1.0);
  };
  Svg svg(kWidth, kChartHeight);
  for (const double mm : {-step_mm, 0.0, step_mm}) {
    svg.line(kLeft, y(mm), kRight, y(mm), mm == 0 ? "reference" : "grid");
    svg.text(kLeft - 4, y(mm) + 4, fmt::format("{:+.4g}", mm / unit_mm), "tick", "end");
  }
  for (const auto& [z, d] : off) svg.circle(x(z), y(d), 1.6, "point");
  svg.text(kLeft, kBottom + 14, words.one(arc.from_mm, 2), "tick");
  svg.text(kRight, kBottom + 14, words.one(arc.to_mm, 2) + " from the left face", "tick", "end");
  return svg.finish("deviation of the " + arc.name + " from its arc, " +
                    (words.inch_first() ? "thou" : "micrometres"));
}

std::string profile_section(const PartRecord& record, LengthUnit unit) {
  if (!record.profile) return {};
  const SideProfile& profile = *record.profile;
  const LengthWords words = page_words(unit);
  std::string html =
      "<section aria-labelledby=\"side-view\">\n<h2 id=\"side-view\">From the side</h2>\n<div "
      "class=\"pair\">\n";
  html += figure(profile_drawing(profile, words), "The profile true to scale, both flanks as their mean.");
  for (const ProfileSegment& s : profile.segments)
    html += figure(arc_deviations(profile, s, words), s.name + ": deviation from its arc in " +
                                                          (words.inch_first() ? "thou" : "\u00b5m") +
                                                          ", outwards up.");
  html += "</div>\n<ul>\n";
  const std::string text = profile_text(profile, {unit, 100000, true, plain_ink});
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t to = std::min(text.find('\n', from), text.size());
    html += "<li>" + words_markup(text.substr(from, to - from)) + "</li>\n";
    from = to + 1;
  }
  return html + "</ul>\n</section>\n";
}

}  // namespace rondure
