#include "set_chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "page_sections.hpp"
#include "rondure/core/length.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

constexpr double kWidth = 360, kLeft = 6, kRight = 354, kTop = 44, kRow = 30, k95 = 1.96;
constexpr double kAlike_ratio = 0.05;   // parts further apart do not share a line of sizes
constexpr double kWorthDrawing = 0.03;  // of a candidate
constexpr std::size_t kMostNamed = 3;

struct Row {
  std::string name;
  const OriginalFeature* feature;
  bool odd;
};

std::vector<Row> rows_of(const SetResult& set) {
  std::vector<Row> rows;
  for (const SetPartResult& p : set.parts)
    if (const OriginalFeature* f = size_in_question(p))
      rows.push_back({p.name, f, p.p_other_drawing + p.p_stranger > 0.5});
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

std::string set_chart(const SetResult& set) {
  const auto rows = rows_of(set);
  if (rows.size() < 2) return {};
  const auto candidates = candidates_of(rows);
  double lo = INFINITY, hi = 0;
  for (const Row& r : rows) {
    lo = std::min({lo, r.feature->measured_mm - k95 * r.feature->u_mm,
                   r.feature->unshrunk_mm.value - k95 * r.feature->unshrunk_mm.u});
    hi = std::max(hi, std::max(r.feature->measured_mm + k95 * r.feature->u_mm,
                               r.feature->unshrunk_mm.value + k95 * r.feature->unshrunk_mm.u));
  }
  for (const SizeCandidate& c : candidates) lo = std::min(lo, c.size_mm), hi = std::max(hi, c.size_mm);
  if (!(hi - lo < kAlike_ratio * hi)) return {};
  const double room = 0.06 * (hi - lo);
  lo -= room;
  hi += room;
  const auto x = [&](double mm) { return kLeft + (kRight - kLeft) * (mm - lo) / (hi - lo); };
  const double base = kTop + kRow * static_cast<double>(rows.size()) + 6;
  Svg svg(kWidth, base + 26);
  std::vector<double> named;
  for (const SizeCandidate& c : candidates) {
    const double at = std::clamp(x(c.size_mm), kLeft + 40, kRight - 40);
    const bool free = std::ranges::none_of(named, [&](double other) { return std::abs(other - at) < 84; });
    svg.line(x(c.size_mm), kTop - 12, x(c.size_mm), base, named.empty() ? "reference" : "grid");
    if (!free || named.size() == kMostNamed) continue;
    svg.text(at, kTop - 18, c.label + ": " + percent(c.probability), "tick", "middle");
    named.push_back(at);
  }
  svg.text(kLeft, 11, "sizes it may have been drawn as", "tick");
  double y = kTop;
  for (const Row& r : rows) {
    const Estimate& before = r.feature->unshrunk_mm;
    const double from = x(before.value - k95 * before.u), to = x(before.value + k95 * before.u);
    svg.rect(from, y + 13, std::max(2.0, to - from), 8, r.odd ? "left-out" : "bar");
    svg.line(x(r.feature->measured_mm), y + 10, x(r.feature->measured_mm), y + 24, "mark-line");
    const bool left = x(r.feature->measured_mm) < (kLeft + kRight) / 2;
    svg.text(left ? kLeft : kRight, y + 9, r.name + (r.odd ? " (does not fit)" : ""), "tick",
             left ? "start" : "end");
    y += kRow;
  }
  const double step = std::pow(10, std::floor(std::log10((hi - lo) / 2)));
  const double tick = (hi - lo) / step > 5 ? 2 * step : (hi - lo) / step < 3 ? step / 2 : step;
  const int decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(tick) - 1e-9)));
  svg.line(kLeft, base, kRight, base, "reference");
  for (double at = std::ceil(lo / tick) * tick; at <= hi; at += tick) {
    if (x(at) > kRight - 30) break;  // the unit's name stands there
    svg.line(x(at), base, x(at), base + 5, "reference");
    svg.text(std::max(x(at), kLeft + 14), base + 18, fmt::format("{:.{}f}", at, decimals), "tick", "middle");
  }
  svg.text(kRight, base + 18, "mm", "tick", "end");
  return svg.finish("The sizes of the parts on a line of sizes, with those they may have been drawn as");
}

}  // namespace rondure
