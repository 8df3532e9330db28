#include <algorithm>
#include <cmath>

#include "charts.hpp"
#include "page_sections.hpp"
#include "profile_section.hpp"
#include "rondure/report/profile_wear_text.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// The drawing's own px: as wide as a small phone shows without scaling.
constexpr double kWearWidth = 360, kWearHeight = 178, kWearLeft = 48, kWearRight = 344, kWearTop = 16,
                 kWearBottom = 140;
constexpr std::size_t kDrawnPlaces = 240;  // as many as 300 px of a chart can show
constexpr double kShownShare = 0.02;  // of the points at either end of their range, which would set the scale
constexpr double kZeroNear = 1.5;     // of the range: so near the other profile is shown too

struct WearScale {
  double low_mm = 0, high_mm = 0;
  double y(double mm) const {
    return kWearBottom - (kWearBottom - kWearTop) * std::clamp((mm - low_mm) / (high_mm - low_mm), 0.0, 1.0);
  }
};

WearScale scale_of(const SurfaceWear& wear, const Interval* allowed) {
  std::vector<double> all;
  for (const auto& p : wear.difference) all.push_back(p.y());
  std::sort(all.begin(), all.end());
  const auto cut = static_cast<std::size_t>(kShownShare * static_cast<double>(all.size()));
  WearScale s{all[cut], all[all.size() - 1 - cut]};
  for (const auto& p : wear.smoothed)
    s.low_mm = std::min(s.low_mm, p.y()), s.high_mm = std::max(s.high_mm, p.y());
  const double range = std::max(s.high_mm - s.low_mm, 1e-4);
  if (allowed) s.low_mm = std::min(s.low_mm, allowed->lo), s.high_mm = std::max(s.high_mm, allowed->hi);
  if (s.low_mm > 0 && s.low_mm < kZeroNear * range) s.low_mm = 0;
  if (s.high_mm < 0 && -s.high_mm < kZeroNear * range) s.high_mm = 0;
  const double room = 0.08 * std::max(s.high_mm - s.low_mm, range);
  return {s.low_mm - room, s.high_mm + room};
}

// What the surface has lost or gained, place by place along the axis.
std::string wear_chart(const SurfaceWear& wear, const std::string& letter, const Interval* allowed,
                       bool planned, const LengthWords& words) {
  if (wear.difference.size() < 2) return {};
  const double unit_mm = words.inch_first() ? kMmPerInch / 1000 : 0.001;
  const double from = wear.difference.front().x(), to = wear.difference.back().x();
  const WearScale scale = scale_of(wear, allowed);
  const auto x = [&](double z) {
    return kWearLeft + (kWearRight - kWearLeft) * (z - from) / std::max(to - from, 1e-9);
  };
  Svg svg(kWearWidth, kWearHeight);
  const double shows = wear.least_worn_mm - kWearTold_u * wear.deepest_mm.u;
  svg.rect(kWearLeft, scale.y(wear.least_worn_mm), kWearRight - kWearLeft,
           scale.y(shows) - scale.y(wear.least_worn_mm), "noise");
  const double step_mm = round_step_mm(0.22 * (scale.high_mm - scale.low_mm) / unit_mm) * unit_mm;
  for (double mm = std::ceil(scale.low_mm / step_mm) * step_mm; mm <= scale.high_mm; mm += step_mm) {
    const bool zero = std::abs(mm) < 0.5 * step_mm;
    svg.line(kWearLeft, scale.y(mm), kWearRight, scale.y(mm), zero ? "reference" : "grid");
    svg.text(kWearLeft - 4, scale.y(mm) + 4, zero ? "0" : fmt::format("{:+.4g}", mm / unit_mm), "tick",
             "end");
  }
  if (allowed)
    for (const double mm : {allowed->lo, allowed->hi})
      svg.line(kWearLeft, scale.y(mm), kWearRight, scale.y(mm), "ellipse");
  const std::size_t every = 1 + wear.difference.size() / kDrawnPlaces;
  for (std::size_t i = 0; i < wear.difference.size(); i += every)
    svg.circle(x(wear.difference[i].x()), scale.y(wear.difference[i].y()), 1, "left-out-point");
  std::vector<std::pair<double, double>> line;
  for (const auto& p : wear.smoothed) line.emplace_back(x(p.x()), scale.y(p.y()));
  svg.path(line, "outline");
  if (wear.worn) {
    const double at = x(wear.deepest_at_mm), low = scale.y(wear.least_worn_mm - wear.deepest_mm.value);
    svg.line(at, scale.y(wear.least_worn_mm), at, low, "mark-line");
    const bool right = at > 0.5 * (kWearLeft + kWearRight);
    svg.text(at + (right ? -6 : 6), std::max(low - 4, kWearTop + 10), letter, "mark",
             right ? "end" : "start");
  }
  svg.text(kWearLeft, kWearBottom + 14, words.one(from, 2), "tick");
  svg.text(kWearRight, kWearBottom + 14, words.one(to, 2) + " from the left face", "tick", "end");
  svg.text(4, kWearHeight - 6,
           fmt::format("{} radius{}, {}, outwards up", planned ? "the" : "change of the",
                       planned ? " less that of the plan" : "", words.inch_first() ? "thou" : "\u00b5m"),
           "tick");
  return svg.finish("change of the radius along the " + wear.name);
}

std::string wear_caption(const SurfaceWear& wear, const std::string& letter, bool planned, bool allowed) {
  std::string text = wear.name + ": line, mean over a fifteenth; grey, what could not be told from none.";
  if (wear.worn) text += " " + letter + (planned ? ", the lowest place." : ", worn most.");
  if (allowed) text += " Broken lines: the limits of its diameter, halved.";
  return text;
}

}  // namespace

std::string wear_section(const PartRecord& record, const PageOptions& options) {
  if (!options.earlier || !record.profile) return {};
  const EarlierProfile& earlier = *options.earlier;
  const LengthWords words = page_words(options.unit);
  std::vector<ProfileMark> marks;
  std::string charts, list;
  for (const SurfaceWear& wear : earlier.surfaces) {
    std::string letter;
    if (wear.worn) {
      letter = place_letter(marks.size());
      marks.push_back({wear.deepest_at_mm, letter});
    }
    const auto allowed = earlier.allowed_mm.find(wear.name);
    const Interval* limits = allowed == earlier.allowed_mm.end() ? nullptr : &allowed->second;
    charts += figure(wear_chart(wear, letter, limits, earlier.planned, words),
                     wear_caption(wear, letter, earlier.planned, limits != nullptr));
    list += "<li>" +
            words_markup((letter.empty() ? "" : letter + ": ") + wear.name + ": " +
                         wear_words(wear, words, earlier.planned)) +
            "</li>\n";
  }
  const std::string now = earlier.planned ? "this part" : "now",
                    then = earlier.planned ? "planned" : "earlier";
  std::string html = std::string("<section class=\"wear\" aria-labelledby=\"wear\">\n<h2 id=\"wear\">") +
                     (earlier.planned ? "The profile against the plan" : "What the profile has lost since") +
                     "</h2>\n<p class=\"soft\">" + words_markup(earlier.from) + "</p>\n";
  html += "<ul>\n" + list + "</ul>\n<div class=\"pair\">\n";
  html += figure(profile_drawing(*record.profile, words, &earlier.profile, marks),
                 "Both profiles true to scale: full line " + now + ", broken line " + then + ".");
  return html + charts + "</div>\n</section>\n";
}

}  // namespace rondure
