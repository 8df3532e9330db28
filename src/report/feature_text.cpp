#include "rondure/report/feature_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "decimals.hpp"
#include "wrapped.hpp"

namespace rondure {
namespace {

constexpr int kLabelWidth = 13;

std::string row(std::string_view label, const std::string& text) {
  return fmt::format("  {:<{}}{}\n", label, kLabelWidth, text);
}

// "12.452 +- 0.006 mm   0.4902 +- 0.0002 in": as many decimals as two figures of u can carry.
std::string both_units(double mm, std::optional<double> u_mm) {
  const int decimals = shown_decimals(u_mm);
  const double in = mm / kMmPerInch;
  if (!u_mm) return fmt::format("{:.{}f} mm   {:.{}f} in", mm, decimals, in, decimals + 1);
  return fmt::format("{:.{}f} +- {} mm   {:.{}f} +- {} in", mm, decimals, u_text(*u_mm, decimals), in,
                     decimals + 1, u_text(*u_mm / kMmPerInch, decimals + 1));
}

std::string range(const Interval& mm, int decimals) {
  return fmt::format("{:.{}f} to {:.{}f} mm   {:.{}f} to {:.{}f} in", mm.lo, decimals, mm.hi, decimals,
                     mm.lo / kMmPerInch, decimals + 1, mm.hi / kMmPerInch, decimals + 1);
}

// A probability as people say it; never "0".
std::string chance(double p) {
  if (p < 0.001) return "under 0.1 %";
  if (p < 0.0995) return fmt::format("{:.1f} %", 100 * p);
  return fmt::format("{:.0f} %", 100 * p);
}

bool shows_arc(const Feature& f) { return f.points.coverage_deg > 0 && f.points.coverage_deg < 180; }

std::string size_rows(const Feature& f) {
  std::string text;
  const auto& c = *f.circle;
  const bool arc = shows_arc(f) || f.kind == FeatureKind::kArc;
  const double half = arc ? 0.5 : 1;
  const auto u = c.u_diameter_mm ? std::optional(*c.u_diameter_mm * half) : std::nullopt;
  text += row(arc ? "radius" : "diameter", both_units(c.diameter_mm * half, u));
  if (c.diameter95_mm)
    text += row(
        "", "95 %: " + range({c.diameter95_mm->lo * half, c.diameter95_mm->hi * half}, shown_decimals(u)));
  if (!c.diameter95_mm && c.u_diameter_mm && f.source.type != SourceType::kTwoPoint)
    text += row("", "no upper limit: the edge may as well be straight");
  return text;
}

std::string ovality_rows(const Feature& f) {
  const auto& e = *f.ellipse;
  const int decimals = shown_decimals(e.u_ovality_mm);
  std::string text = row("ovality", both_units(e.ovality_mm, e.u_ovality_mm));
  if (e.ovality95_mm) text += row("", "95 %: " + range(*e.ovality95_mm, decimals));
  if (e.p_round) text += row("", "a round part shows as much in " + chance(*e.p_round) + " of cases");
  if (e.major_angle_deg)
    text += row("", fmt::format("{:.{}f} x {:.{}f} mm, long axis at {:.0f} deg", e.major_diameter_mm,
                                decimals, e.minor_diameter_mm, decimals, *e.major_angle_deg));
  return text;
}

std::string roundness_row(const RoundnessResult& r) {
  std::string text;
  const auto add = [&](const char* name, const std::optional<ReferenceCircleResult>& reference) {
    if (reference)
      text += fmt::format("{}{:.4f} {}", text.empty() ? "RONt " : ", ", reference->ront_mm, name);
  };
  add("LSCI", r.lsci);
  add("MZCI", r.mzci);
  add("MCCI", r.mcci);
  add("MICI", r.mici);
  text += " mm";
  if (r.noise_floor_mm) text += fmt::format(" (noise alone: {:.4f})", *r.noise_floor_mm);
  return row("roundness", text);
}

std::string excluded_rows(const std::vector<ExcludedSector>& sectors) {
  std::string text;
  for (const auto& s : sectors) {
    std::string line;
    if (s.points > 1)
      line = fmt::format("{:.0f} to {:.0f} deg, {:.3f} mm {}, {} points", s.from_deg, s.to_deg,
                         std::abs(s.height_mm), s.height_mm > 0 ? "high" : "low", s.points);
    else
      line = fmt::format("at {:.0f} deg, {:.3f} mm {}, 1 point", s.from_deg, std::abs(s.height_mm),
                         s.height_mm > 0 ? "high" : "low");
    if (!s.lines.empty()) {
      line += s.lines.size() == 1 ? ", line" : ", lines";
      for (std::size_t i = 0; i < std::min<std::size_t>(s.lines.size(), 8); ++i)
        line += fmt::format(" {}", s.lines[i]);
      if (s.lines.size() > 8) line += " ...";
    }
    text += row(text.empty() ? "left out" : "", line);
  }
  return text;
}

std::string harmonics_row(const std::vector<HarmonicResult>& harmonics) {
  std::string text;
  for (const auto& h : harmonics) {
    if (h.u_amplitude_mm && h.amplitude_mm < 3 * *h.u_amplitude_mm) continue;
    text += fmt::format("{}{} UPR {:.4f} mm", text.empty() ? "" : ", ", h.upr, h.amplitude_mm);
  }
  return text.empty() ? "" : row("harmonics", text);
}

// `share`: 1 for a diameter, 0.5 where the radius is shown.
std::string budget_rows(std::vector<BudgetLine> budget, double share) {
  std::stable_sort(budget.begin(), budget.end(),
                   [](const auto& a, const auto& b) { return a.u_mm > b.u_mm; });
  std::string text;
  for (const auto& line : budget) {
    if (!(line.u_mm > 0.001 * budget.front().u_mm)) continue;  // adds nothing to the sum of squares
    text += row(
        text.empty() ? "u is made of" : "",
        fmt::format("{}  {}",
                    share * line.u_mm < 5e-5 ? "<0.0001 mm" : fmt::format("{:>7.4f} mm", share * line.u_mm),
                    line.text()));
  }
  return text;
}

// Which kind of reading carries the weight.
std::string combination_rows(const Feature& f) {
  std::string text;
  for (const auto& r : f.combination)
    text += row(text.empty() ? "combined" : "",
                fmt::format("{:3.0f} %  R {:.3f} mm ({:.4f} in) +- {:.3f} mm  {}", 100 * r.weight,
                            r.radius_mm, r.radius_mm / kMmPerInch, r.u_radius_mm, r.source));
  if (f.p_readings_agree)
    text += row("", fmt::format("readings that agree differ as much in {}", chance(*f.p_readings_agree)));
  return text;
}

std::string verdict_text(const Feature& f, const Ink& ink) {
  const Says says = f.verdict == OutlineForm::kRound ? Says::kGood : Says::kDoubtful;
  const std::string word = ink(says, std::string(name(f.verdict)));
  return f.verdict == OutlineForm::kLobed && f.verdict_upr
             ? fmt::format("{}, {} a turn", word, *f.verdict_upr)
             : word;
}

}  // namespace

std::string feature_text(const Feature& f, const Ink& ink) {
  const std::string kind(f.kind.word());
  std::string text = f.name.empty() ? kind : f.name;
  if (!kind.empty() && kind != f.name && !f.name.empty()) text += " (" + kind + ")";
  if (text.empty()) text = "feature";
  if (!f.source.file.empty()) text += "   from " + f.source.file;
  text += '\n';
  if (f.circle) text += size_rows(f);
  if (f.verdict != OutlineForm::kNotJudged) text += row("shape", verdict_text(f, ink));
  if (f.ellipse) text += ovality_rows(f);
  if (f.roundness) text += roundness_row(*f.roundness);
  text += harmonics_row(f.harmonics);
  text += excluded_rows(f.excluded);
  if (f.points.count > 0) {
    std::string points = fmt::format("{} of {} used", f.points.used, f.points.count);
    if (f.points.coverage_deg > 0)
      points += fmt::format(", {:.0f} deg of the outline seen", f.points.coverage_deg);
    text += row("points", points);
  }
  text += combination_rows(f);
  text += budget_rows(f.budget, shows_arc(f) || f.kind == FeatureKind::kArc ? 0.5 : 1);
  for (const auto& w : f.warnings)
    text += wrapped(w.text, "  ", fmt::format("{:<{}}", "note", kLabelWidth - 1),
                    std::string(2 + kLabelWidth, ' '), ink, Says::kDoubtful);
  return text;
}

namespace {

// One row of the table, unpadded.
std::vector<std::string> table_cells(const Feature& f) {
  constexpr std::size_t kFileWidth = 32;
  const std::string& file = f.source.file;
  std::vector<std::string> cells{
      file.size() > kFileWidth ? "..." + file.substr(file.size() - kFileWidth + 3) : file,
      f.name.empty() ? std::string(f.kind.word()) : f.name,
      "",
      "",
      "",
      std::string(name(f.verdict)),
      ""};
  if (f.circle) {
    const bool arc = shows_arc(f) || f.kind == FeatureKind::kArc;
    const double half = arc ? 0.5 : 1, mm = f.circle->diameter_mm * half;
    const auto u = f.circle->u_diameter_mm ? std::optional(*f.circle->u_diameter_mm * half) : std::nullopt;
    const int d = shown_decimals(u);
    const auto cell = [&](double unit_mm, int decimals) {
      return fmt::format("{}{:.{}f}{}", arc ? "R " : "", mm / unit_mm, decimals,
                         u ? " +- " + u_text(*u / unit_mm, decimals) : "");
    };
    cells[2] = cell(1, d), cells[3] = cell(kMmPerInch, d + 1);
  }
  if (f.ellipse)
    cells[4] = fmt::format("{:.{}f}", f.ellipse->ovality_mm, shown_decimals(f.ellipse->u_ovality_mm));
  for (const Warning& w : f.warnings)
    if (w.code != "eccentricity") cells[6] += (cells[6].empty() ? "" : " ") + w.code;
  return cells;
}

}  // namespace

std::string feature_table(const std::vector<Feature>& features) {
  std::vector<std::vector<std::string>> rows{
      {"photograph", "feature", "diameter mm", "in", "ovality mm", "shape", "warnings"}};
  for (const Feature& f : features) rows.push_back(table_cells(f));
  std::vector<std::size_t> widths(rows.front().size(), 0);
  for (const auto& row : rows)
    for (std::size_t c = 0; c < row.size(); ++c) widths[c] = std::max(widths[c], row[c].size());
  std::string text;
  for (const auto& row : rows) {
    std::string line;
    for (std::size_t c = 0; c < row.size(); ++c) line += fmt::format("{:<{}}  ", row[c], widths[c]);
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + '\n';
  }
  return text;
}

}  // namespace rondure
