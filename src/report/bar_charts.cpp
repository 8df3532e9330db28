#include <algorithm>
#include <cmath>

#include "charts.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/percent.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// The drawing's own px: as wide as a small phone shows without scaling.
constexpr double kWidth = 360, kRow = 22;

struct Bar {
  std::string label, figure;
  double length_ratio;  // of the longest bar, 0 to 1
  bool strong = false;
};

// Labels above or left of the bars: long words get a line of their own so that nothing is cut on a phone.
std::string bars(const std::vector<Bar>& rows, std::string_view aria, bool label_above) {
  const double row_height = label_above ? 32 : kRow;
  const double left = label_above ? 4 : 92, right = kWidth - (label_above ? 142 : 76);
  Svg svg(kWidth, row_height * static_cast<double>(rows.size()) + 4);
  double y = 2;
  for (const auto& bar : rows) {
    const double bar_y = label_above ? y + 16 : y + 4;
    if (label_above)
      svg.text(left, y + 12, bar.label, "tick");
    else
      svg.text(left - 6, y + 16, bar.label, "label", "end");
    svg.rect(left, bar_y, std::max(1.0, (right - left) * bar.length_ratio), 13,
             bar.strong ? "bar strong" : "bar");
    svg.text(left + std::max(1.0, (right - left) * bar.length_ratio) + 5, bar_y + 11, bar.figure, "tick");
    y += row_height;
  }
  return svg.finish(aria);
}

}  // namespace

std::string harmonics_chart(const std::vector<HarmonicResult>& harmonics, const LengthWords& words) {
  if (harmonics.empty()) return {};
  double largest = 1e-9;
  for (const auto& h : harmonics)
    largest = std::max(largest, h.amplitude_mm + 2 * h.u_amplitude_mm.value_or(0));
  constexpr double kLeft = 44, kRight = 352, kTop = 10, kBottom = 120;
  const auto count = static_cast<double>(harmonics.size());
  const double pitch = (kRight - kLeft) / count;
  const auto y_of = [&](double mm) {
    return kBottom - (kBottom - kTop) * std::clamp(mm / largest, 0.0, 1.0);
  };
  Svg svg(kWidth, 150);
  const DeviationUnit unit = deviation_unit(words);
  const double step = round_step_mm(largest * 0.4 / unit.mm);
  for (double level = 0; level * unit.mm <= largest * 1.0001; level += step) {
    const double y = y_of(level * unit.mm);
    svg.line(kLeft, y, kRight, y, "grid");
    svg.text(kLeft - 4, y + 4, level > 0 ? fmt::format("{:g}", level) : "0", "tick", "end");
  }
  double x = kLeft + pitch / 2;
  const std::size_t every = harmonics.size() > 16 ? harmonics.size() / 10 : 1;
  for (std::size_t i = 0; i < harmonics.size(); ++i, x += pitch) {
    const auto& h = harmonics[i];
    const double width = std::min(pitch * 0.6, 18.0);
    const bool sure = h.u_amplitude_mm && h.amplitude_mm > 3 * *h.u_amplitude_mm;
    svg.rect(x - width / 2, y_of(h.amplitude_mm), width, kBottom - y_of(h.amplitude_mm),
             sure ? "bar strong" : "bar");
    if (h.u_amplitude_mm)
      svg.line(x, y_of(std::max(0.0, h.amplitude_mm - 2 * *h.u_amplitude_mm)), x,
               y_of(h.amplitude_mm + 2 * *h.u_amplitude_mm), "whisker");
    if (i % every == 0) svg.text(x, kBottom + 14, std::to_string(h.upr), "tick", "middle");
  }
  svg.text(4, 146, fmt::format("undulations per revolution; amplitude in {}, whiskers 2 u", unit.symbol),
           "tick");
  return svg.finish("Amplitude of the outline by undulations per revolution");
}

namespace {
std::string budget_figure(double u_mm, const LengthWords& words) {
  if (words.inch_first()) {
    if (u_mm / kMmPerInch < 5e-6) return "under 0.00001 in";
    if (u_mm < 5e-5) return fmt::format("{:.5f} in", u_mm / kMmPerInch);
    return fmt::format("{:.5f} in ({:.4f} mm)", u_mm / kMmPerInch, u_mm);
  }
  if (u_mm < 5e-5) return "under 0.0001 mm";
  if (u_mm / kMmPerInch < 5e-6) return fmt::format("{:.4f} mm", u_mm);
  return fmt::format("{:.4f} mm ({:.5f} in)", u_mm, u_mm / kMmPerInch);
}
}  // namespace

std::string budget_chart(const std::vector<BudgetLine>& budget, double share, const LengthWords& words) {
  auto lines = budget;
  double largest_mm = 0;
  for (const auto& line : lines) largest_mm = std::max(largest_mm, line.u_mm);
  std::erase_if(
      lines, [&](const auto& line) { return !(line.u_mm > 0.001 * largest_mm); });  // adds nothing to the sum
  if (lines.empty()) return {};
  std::stable_sort(lines.begin(), lines.end(), [](const auto& a, const auto& b) { return a.u_mm > b.u_mm; });
  std::vector<Bar> rows;
  for (const auto& line : lines)
    rows.push_back({line.text(), budget_figure(share * line.u_mm, words), line.u_mm / lines.front().u_mm});
  return bars(rows, "What the standard uncertainty of the size is made of, largest first", true);
}

std::string candidates_chart(const OriginalFeature& feature) {
  if (feature.candidates.empty()) return {};
  std::vector<Bar> rows;
  for (const auto& c : feature.candidates) {
    if (rows.size() == 6 || (rows.size() >= 2 && c.probability < 0.005)) break;
    const bool strong = rows.empty() && !feature.undecided;
    rows.push_back({c.label, percent(c.probability), std::clamp(c.probability, 0.0, 1.0), strong});
  }
  return bars(rows, "Likely original sizes of " + feature.name + " with their probabilities", false);
}

}  // namespace rondure
