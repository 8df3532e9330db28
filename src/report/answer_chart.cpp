// The answer as one picture: where the size lies among the sizes it may have been drawn as.
#include <algorithm>
#include <cmath>
#include <limits>

#include "charts.hpp"
#include "page_sections.hpp"
#include "rondure/core/normal_law.hpp"
#include "rondure/core/shown.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// The drawing's own px: as wide as a small phone shows without scaling.
constexpr double kWidth = 360, kLeft = 6, kRight = 354, kRow = 32, kStem = 52;

// A stretch of sizes and what it says.
struct Stretch {
  std::string words;
  double lo_mm, hi_mm;
  double mark_mm;  // the value; not finite = none
};

class SizeAxis {
public:
  SizeAxis(double lo_mm, double hi_mm) : lo_(lo_mm), hi_(hi_mm) {}
  double x(double mm) const { return kLeft + (kRight - kLeft) * (mm - lo_) / (hi_ - lo_); }
  bool holds(double mm) const { return mm >= lo_ && mm <= hi_; }
  // Ticks of a unit under the line at `y`; the step is a round number of that unit.
  void draw(Svg& svg, double y, double mm_per_unit, const char* unit) const {
    const double step = round_step_mm((hi_ - lo_) / mm_per_unit / 8);
    const int decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(step) - 1e-9)));
    svg.line(kLeft, y, kRight, y, "reference");
    constexpr double kFigureWidth = 6.4;  // of one in px, at the most
    double free_from = kLeft;
    for (double at = std::ceil(lo_ / mm_per_unit / step) * step; at * mm_per_unit <= hi_; at += step) {
      const double here = x(at * mm_per_unit);
      const std::string text = fmt::format("{:.{}f}", at, decimals);
      const double half = kFigureWidth * static_cast<double>(text.size()) / 2;
      svg.line(here, y, here, y + 5, "reference");
      if (here - half < free_from || here + half > kRight - 20) continue;  // the unit's name stands there
      svg.text(here, y + 18, text, "tick", "middle");
      free_from = here + half + 4;
    }
    svg.text(kRight, y + 18, unit, "tick", "end");
  }

private:
  double lo_, hi_;
};

std::vector<Stretch> stretches(const Feature& f, const OriginalFeature* original, double half,
                               const LengthWords& words) {
  std::vector<Stretch> rows;
  constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
  const double size_mm = f.circle->diameter_mm * half;
  if (const auto& range = f.circle->diameter95_mm) {
    const int d = shown_decimals(f.circle->u_diameter_mm ? std::optional(*f.circle->u_diameter_mm * half)
                                                         : std::nullopt);
    rows.push_back({fmt::format("measured {} (95 %: {})", words.one(size_mm, d),
                                words.one_range({range->lo * half, range->hi * half}, d)),
                    range->lo * half, range->hi * half, size_mm});
  }
  if (half == 1 && f.verdict == OutlineForm::kOval && f.ellipse) {
    const auto axes =
        printed_axes(f.ellipse->major_diameter_mm, f.ellipse->minor_diameter_mm, f.ellipse->ovality_mm,
                     shown_decimals(f.ellipse->u_ovality_mm), words.inch_first());
    rows.push_back({fmt::format("oval, from {} to {} {} across", axes.minor, axes.major, words.symbol()),
                    f.ellipse->minor_diameter_mm, f.ellipse->major_diameter_mm, kNone});
  }
  if (original && original->unshrunk_mm.value > 0 && original->unshrunk_mm.u > 0 &&
      original->share_of_shrinkage > 0) {
    const Estimate& e = original->unshrunk_mm;
    rows.push_back({"before it shrank about " + words.one(e.value, 3), e.value - kNormal95 * e.u,
                    e.value + kNormal95 * e.u, e.value});
  }
  return rows;
}

// A stem for every candidate on the axis, its height its probability; the likely ones are named, the
// likeliest first.
void draw_candidates(Svg& svg, const OriginalFeature& original, const SizeAxis& axis, double base_y) {
  constexpr double kWordsWidth = 84, kWordsHeight = 13;
  std::vector<std::pair<double, double>> words_at;
  for (std::size_t i = 0; i < original.candidates.size(); ++i) {
    const SizeCandidate& c = original.candidates[i];
    if (c.probability < 0.005 || !axis.holds(c.size_mm)) continue;
    const double height = std::max(2.0, kStem * c.probability), x = axis.x(c.size_mm);
    svg.rect(x - 4, base_y - height, 8, height, i == 0 && !original.undecided ? "bar strong" : "bar");
    double words_x = x;
    for (const SizeCandidate& taller :
         original.candidates) {  // the words keep clear of higher bars beside them
      const double off = axis.x(taller.size_mm) - x;
      if (axis.holds(taller.size_mm) && kStem * taller.probability > height + 2 &&
          std::abs(off) < kWordsWidth / 2 + 6)
        words_x = axis.x(taller.size_mm) - (off > 0 ? 1 : -1) * (kWordsWidth / 2 + 6);
    }
    const std::pair at{std::clamp(words_x, kLeft + kWordsWidth / 2, kRight - kWordsWidth / 2),
                       base_y - height - 4};
    const bool free = std::ranges::none_of(words_at, [&](const auto& other) {
      return std::abs(other.first - at.first) < kWordsWidth &&
             std::abs(other.second - at.second) < kWordsHeight;
    });
    if (c.probability < 0.03 || !free) continue;
    svg.text(at.first, at.second, c.label + ": " + percent(c.probability), "tick", "middle");
    words_at.push_back(at);
  }
}

}  // namespace

std::string answer_chart(const Feature& f, const OriginalFeature* original, const LengthWords& words) {
  if (!f.circle) return {};
  const double half = is_arc(f) ? 0.5 : 1;
  const auto rows = stretches(f, original, half, words);
  if (rows.empty()) return {};
  double lo = rows.front().lo_mm, hi = rows.front().hi_mm;
  for (const Stretch& s : rows) lo = std::min(lo, s.lo_mm), hi = std::max(hi, s.hi_mm);
  const bool candidates = original && !original->candidates.empty();
  if (candidates)
    for (const SizeCandidate& c : original->candidates)
      if (c.probability >= 0.03) lo = std::min(lo, c.size_mm), hi = std::max(hi, c.size_mm);
  const double room = std::max(0.08 * (hi - lo), 1e-4);
  const SizeAxis axis(lo - room, hi + room);
  const double base = kRow * static_cast<double>(rows.size()) + (candidates ? kStem + 40 : 12);
  Svg svg(kWidth, base + 52);
  double y = 4;
  for (const Stretch& s : rows) {
    svg.text(kLeft, y + 10, s.words, "tick");
    svg.rect(axis.x(s.lo_mm), y + 15, std::max(2.0, axis.x(s.hi_mm) - axis.x(s.lo_mm)), 8, "bar");
    if (std::isfinite(s.mark_mm)) svg.line(axis.x(s.mark_mm), y + 12, axis.x(s.mark_mm), y + 26, "mark-line");
    y += kRow;
  }
  if (candidates) {
    svg.text(kLeft, y + 10, "sizes it may have been drawn as, and how likely", "tick");
    draw_candidates(svg, *original, axis, base);
  }
  axis.draw(svg, words.inch_first() ? base + 26 : base, 1, "mm");
  axis.draw(svg, words.inch_first() ? base : base + 26, kMmPerInch, "in");
  return svg.finish("The size of " + f.name + " on a line of sizes, with those it may have been drawn as");
}

}  // namespace rondure
