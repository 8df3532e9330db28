#include "set_chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "page_sections.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/normal_law.hpp"
#include "set_odd.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// The drawing's own px: as wide as a small phone shows without scaling.
constexpr double kWidth = 360, kLeft = 6, kRight = 354, kTop = 58, kRow = 32;
constexpr double kAlike_ratio = 0.05;   // parts further apart do not share a line of sizes
constexpr double kWorthDrawing = 0.03;  // of a candidate
constexpr std::size_t kMostNamed = 6;   // sizes: three to each of two lines of words
constexpr double kWordsWidth = 88, kWordsHeight = 14;

struct Row {
  std::string name;
  const OriginalFeature* feature;
  bool odd;
};

std::vector<Row> rows_of(const SetResult& set) {
  std::vector<Row> rows;
  for (const SetPartResult& p : set.parts)
    if (const OriginalFeature* f = size_in_question(p)) rows.push_back({p.name, f, probably_odd(p)});
  return rows;
}

// Sizes that any of the parts may have been drawn as, with the largest probability of each.
std::vector<SizeCandidate> candidates_of(const std::vector<Row>& rows) {
  std::map<std::string, SizeCandidate> by_label;
  for (const Row& r : rows)
    for (const SizeCandidate& c : r.feature->candidates)
      if (!r.odd && c.probability >= kWorthDrawing) {
        auto& best = by_label.emplace(c.label, c).first->second;
        best.probability = std::max(best.probability, c.probability);
      }
  std::vector<SizeCandidate> all;
  for (const auto& [label, c] : by_label) all.push_back(c);
  std::ranges::sort(all, [](const auto& a, const auto& b) { return a.probability > b.probability; });
  return all;
}

}  // namespace

const OriginalFeature* size_in_question(const SetPartResult& part) {
  for (const OriginalFeature& f : part.original.features)
    if (f.name == part.original.about && !f.candidates.empty()) return &f;
  return nullptr;
}

std::string set_chart(const SetResult& set, const LengthWords& words) {
  const auto rows = rows_of(set);
  if (rows.size() < 2) return {};
  const auto candidates = candidates_of(rows);
  double lo = INFINITY, hi = 0;
  for (const Row& r : rows) {
    lo = std::min({lo, r.feature->measured_mm - kNormal95 * r.feature->u_mm,
                   r.feature->unshrunk_mm.value - kNormal95 * r.feature->unshrunk_mm.u});
    hi = std::max(hi, std::max(r.feature->measured_mm + kNormal95 * r.feature->u_mm,
                               r.feature->unshrunk_mm.value + kNormal95 * r.feature->unshrunk_mm.u));
  }
  for (const SizeCandidate& c : candidates) lo = std::min(lo, c.size_mm), hi = std::max(hi, c.size_mm);
  if (!(hi - lo < kAlike_ratio * hi)) return {};
  const double room = 0.06 * (hi - lo);
  lo -= room;
  hi += room;
  const auto x = [&](double mm) { return kLeft + (kRight - kLeft) * (mm - lo) / (hi - lo); };
  const double base = kTop + kRow * static_cast<double>(rows.size()) + 6;
  Svg svg(kWidth, base + 26);
  std::vector<std::pair<double, int>> named;  // where, and in which of two lines
  for (const SizeCandidate& c : candidates) {
    if (named.size() == kMostNamed) break;
    const double at = std::clamp(x(c.size_mm), kLeft + kWordsWidth / 2, kRight - kWordsWidth / 2);
    const auto free = [&](int line) {
      return std::ranges::none_of(named, [&](const auto& other) {
        return other.second == line && std::abs(other.first - at) < kWordsWidth;
      });
    };
    const int line = free(0) ? 0 : free(1) ? 1 : -1;
    if (line < 0) continue;  // a line without its size would say nothing
    svg.line(x(c.size_mm), kTop - 12, x(c.size_mm), base, named.empty() ? "reference" : "grid");
    svg.text(at, kTop - 18 - kWordsHeight * line, c.label + ": " + percent(c.probability), "tick", "middle");
    named.emplace_back(at, line);
  }
  svg.text(kLeft, 11, "sizes it may have been drawn as", "tick");
  double y = kTop;
  for (const Row& r : rows) {
    const Estimate& before = r.feature->unshrunk_mm;
    const double from = x(before.value - kNormal95 * before.u), to = x(before.value + kNormal95 * before.u);
    svg.rect(from, y + 15, std::max(2.0, to - from), 8, r.odd ? "left-out" : "bar");
    svg.line(x(r.feature->measured_mm), y + 12, x(r.feature->measured_mm), y + 26, "mark-line");
    const bool left = x(r.feature->measured_mm) < (kLeft + kRight) / 2;
    svg.text(left ? kLeft : kRight, y + 9, r.name + (r.odd ? " (does not fit)" : ""), "tick",
             left ? "start" : "end");
    y += kRow;
  }
  const double unit_mm = words.inch_first() ? kMmPerInch : 1;
  lo /= unit_mm;
  hi /= unit_mm;
  const double step = std::pow(10, std::floor(std::log10((hi - lo) / 2)));
  const double tick = (hi - lo) / step > 5 ? 2 * step : (hi - lo) / step < 3 ? step / 2 : step;
  const int decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(tick) - 1e-9)));
  svg.line(kLeft, base, kRight, base, "reference");
  for (double at = std::ceil(lo / tick) * tick; at <= hi; at += tick) {
    const double here = kLeft + (kRight - kLeft) * (at - lo) / (hi - lo);
    if (here > kRight - 36) break;  // the unit's name stands there
    svg.line(here, base, here, base + 5, "reference");
    svg.text(std::max(here, kLeft + 14), base + 18, fmt::format("{:.{}f}", at, decimals), "tick", "middle");
  }
  svg.text(kRight, base + 18, words.symbol(), "tick", "end");
  return svg.finish("The sizes of the parts on a line of sizes, with those they may have been drawn as");
}

}  // namespace rondure
