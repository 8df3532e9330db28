#include "rondure/report/feature_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "rondure/core/normal_law.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/core/warning.hpp"
#include "roundness_words.hpp"
#include "size_word.hpp"

namespace rondure {
std::optional<double> u_beside_interval(const EllipseResult& e) {
  if (!e.u_ovality_mm || !e.ovality95_mm) return e.u_ovality_mm;
  // Factor: half of an interval so many times 1.96 u, or so small a part of it, belies "+- u". By judgement.
  constexpr double kFarFromEven = 2.5;
  const double u = *e.u_ovality_mm, above = (e.ovality95_mm->hi - e.ovality_mm) / kNormal95,
               below = (e.ovality_mm - e.ovality95_mm->lo) / kNormal95;
  const auto even = [&](double side) { return side < kFarFromEven * u && u < kFarFromEven * side; };
  const bool cut_at_zero = e.ovality95_mm->lo <= 0;
  return even(above) && (cut_at_zero || even(below)) ? e.u_ovality_mm : std::nullopt;
}

namespace {

constexpr int kLabelWidth = 13;

std::string row(std::string_view label, const std::string& text) {
  return fmt::format("  {:<{}}{}\n", label, kLabelWidth, text);
}

std::string wrapped_row(std::string_view label, const std::string& text, std::size_t width) {
  return wrapped(text, fmt::format("  {:<{}}", label, kLabelWidth), std::string(2 + kLabelWidth, ' '), width);
}

// A probability as people say it; never "0".
bool shows_arc(const Feature& f) { return f.points.coverage_deg > 0 && f.points.coverage_deg < 180; }

double share(const Feature& f) { return shows_arc(f) || f.kind == FeatureKind::kArc ? 0.5 : 1; }

std::string size_rows(const Feature& f, const LengthWords& words) {
  std::string text;
  const auto& c = *f.circle;
  const bool arc = shows_arc(f) || f.kind == FeatureKind::kArc;
  const double half = arc ? 0.5 : 1;
  const auto u = c.u_diameter_mm ? std::optional(*c.u_diameter_mm * half) : std::nullopt;
  text += row(size_word(f, arc), words.both(c.diameter_mm * half, u));
  if (c.diameter95_mm)
    text += row("", "95 %: " + words.range({c.diameter95_mm->lo * half, c.diameter95_mm->hi * half},
                                           shown_decimals(u)));
  if (!c.diameter95_mm && c.u_diameter_mm && f.source.type != SourceType::kTwoPoint)
    text += row("", "no upper limit: the edge may as well be straight");
  return text;
}

// "12.4702 x 12.4184 mm, long axis at 24 deg".
std::string axes_words(const EllipseResult& e, const LengthWords& words) {
  const auto axes = printed_axes(e.major_diameter_mm, e.minor_diameter_mm, e.ovality_mm,
                                 shown_decimals(e.u_ovality_mm), words.inch_first());
  return fmt::format("{} x {} {}, long axis at {:.0f} deg", axes.major, axes.minor, words.symbol(),
                     *e.major_angle_deg);
}

std::string ovality_words(const EllipseResult& e, const LengthWords& words) {
  const int decimals = shown_decimals(e.u_ovality_mm);
  if (u_beside_interval(e)) return words.one_u(e.ovality_mm, e.u_ovality_mm);
  return words.one(e.ovality_mm, decimals) +
         (e.ovality95_mm ? " (95 %: " + words.one_range(*e.ovality95_mm, decimals) + ")" : "");
}

std::string ovality_rows(const Feature& f, const LengthWords& words) {
  const auto& e = *f.ellipse;
  const int decimals = shown_decimals(e.u_ovality_mm);
  std::string text = row("ovality", u_beside_interval(e) ? words.both(e.ovality_mm, e.u_ovality_mm)
                                                         : words.both_at(e.ovality_mm, decimals, false));
  if (e.ovality95_mm) text += row("", "95 %: " + words.range(*e.ovality95_mm, decimals));
  if (e.p_round) text += row("", "a round part shows as much in " + chance_words(*e.p_round) + " of cases");
  if (e.major_angle_deg) text += row("", axes_words(e, words));
  return text;
}

std::string roundness_row(const RoundnessResult& r, const LengthWords& words) {
  const std::string noise = noise_beside_roundness(r, words);
  return row("roundness", "RONt " + roundness_figures(r, words) + " " + words.symbol() +
                              (noise.empty() ? "" : " (" + noise + ")"));
}

std::string sector_words(const ExcludedSector& s, const LengthWords& words) {
  const std::string off = words.one(std::abs(s.height_mm), 3) + (s.height_mm > 0 ? " high" : " low");
  std::string line =
      s.points > 1 ? fmt::format("{:.0f} to {:.0f} deg, {}, {} points", s.from_deg, s.to_deg, off, s.points)
                   : fmt::format("at {:.0f} deg, {}, 1 point", s.from_deg, off);
  if (s.lines.empty()) return line;
  constexpr std::size_t kMostLines = 8;  // as many as measure_readings.cpp names
  line += s.lines.size() == 1 ? ", line" : ", lines";
  for (std::size_t i = 0; i < std::min(s.lines.size(), kMostLines); ++i)
    line += fmt::format(" {}", s.lines[i]);
  return line + (s.lines.size() > kMostLines ? " ..." : "");
}

std::string excluded_rows(const std::vector<ExcludedSector>& sectors, const LengthWords& words) {
  std::string text;
  for (const auto& s : sectors) text += row(text.empty() ? "left out" : "", sector_words(s, words));
  return text;
}

std::string harmonics_row(const std::vector<HarmonicResult>& harmonics, const LengthWords& words) {
  std::string text;
  for (const auto& h : harmonics) {
    if (h.u_amplitude_mm && h.amplitude_mm < 3 * *h.u_amplitude_mm) continue;
    text += fmt::format("{}{} UPR {}", text.empty() ? "" : ", ", h.upr, words.one(h.amplitude_mm, 4));
  }
  return text.empty() ? "" : row("harmonics", text);
}

std::string budget_rows(std::vector<BudgetLine> budget, double share, const LengthWords& words) {
  std::stable_sort(budget.begin(), budget.end(),
                   [](const auto& a, const auto& b) { return a.u_mm > b.u_mm; });
  std::string text;
  for (const auto& line : budget) {
    if (!(line.u_mm > 0.001 * budget.front().u_mm)) continue;  // adds nothing to the sum of squares
    const std::string least = "<" + words.one(0.0001, 4);
    const std::string u = share * line.u_mm < 5e-5 ? least : words.one(share * line.u_mm, 4);
    text += row(text.empty() ? "u is made of" : "", fmt::format("{:>{}}  {}", u, least.size(), line.text()));
  }
  return text;
}

// The sources that make up most of u: "scale, 0.0124 mm; edge offset, 0.0024 mm".
std::string main_budget(std::vector<BudgetLine> budget, double share, const LengthWords& words) {
  std::stable_sort(budget.begin(), budget.end(),
                   [](const auto& a, const auto& b) { return a.u_mm > b.u_mm; });
  std::string text;
  for (const auto& line : budget)
    if (line.u_mm > 0.3 * budget.front().u_mm && share * line.u_mm >= 5e-5)
      text += (text.empty() ? "" : "; ") + line.text() + ", " + words.one(share * line.u_mm, 4);
  return text;
}

// Which kind of reading carries the weight.
std::string combination_rows(const Feature& f, const LengthWords& words) {
  std::string text;
  for (const auto& r : f.combination)
    text += row(text.empty() ? "combined" : "",
                fmt::format("{:3.0f} %  R {} {}  {}", 100 * r.weight, words.both_at(r.radius_mm, 3),
                            r.u_radius_mm > 0 ? "+- " + words.one(r.u_radius_mm, 3) : "(no uncertainty told)",
                            r.source));
  if (f.p_readings_agree)
    text +=
        row("", fmt::format("readings that agree differ as much in {}", chance_words(*f.p_readings_agree)));
  return text;
}

std::string verdict_text(const Feature& f) {
  const std::string word(name(f.verdict));
  return f.verdict == OutlineForm::kLobed && f.verdict_upr
             ? fmt::format("{}, {} a turn", word, *f.verdict_upr)
             : word;
}

// The row of the shape with its word marked.
std::string shape_row(const Feature& f, const std::string& text, const Ink& ink) {
  return marked(row("shape", text), name(f.verdict), ink,
                f.verdict == OutlineForm::kRound ? Says::kGood : Says::kDoubtful);
}

}  // namespace

namespace {

std::string name_of(const Feature& f) {
  const std::string called = f.name.empty() ? std::string(f.kind.word()) : f.name;
  return called.empty() ? "feature" : called;
}

std::string heading(const Feature& f) {
  std::string text = name_of(f);
  const std::string kind(f.kind.word());
  if (!kind.empty() && kind != f.name && !f.name.empty()) text += " (" + kind + ")";
  if (!f.source.file.empty()) text += "   from " + f.source.file;
  return text + '\n';
}

std::string points_row(const Feature& f) {
  if (f.points.count <= 0) return {};
  std::string points = fmt::format("{} of {} used", f.points.used, f.points.count);
  if (f.points.coverage_deg > 0)
    points += fmt::format(", {:.0f} deg of the outline seen", f.points.coverage_deg);
  return row("points", points);
}

std::string every_row(const Feature& f, const LengthWords& words, const Ink& ink) {
  std::string text;
  if (f.circle) text += size_rows(f, words);
  if (f.verdict != OutlineForm::kNotJudged) text += shape_row(f, verdict_text(f), ink);
  if (f.ellipse) text += ovality_rows(f, words);
  if (f.roundness) text += roundness_row(*f.roundness, words);
  text += harmonics_row(f.harmonics, words) + excluded_rows(f.excluded, words) + points_row(f);
  return text + combination_rows(f, words) + budget_rows(f.budget, share(f), words);
}

// "oval by 0.0518 +- 0.0003 mm, long axis at 24 deg; RONt 0.0323 mm".
std::string shape_in_text(const Feature& f, const LengthWords& words) {
  std::string text = verdict_text(f);
  if (f.ellipse && f.verdict == OutlineForm::kOval) {
    text += " by " + ovality_words(*f.ellipse, words);
    if (f.ellipse->major_angle_deg)
      text += fmt::format(", long axis at {:.0f} deg", *f.ellipse->major_angle_deg);
  } else if (f.ellipse && f.ellipse->ovality95_mm) {
    text += "; ovality under " +
            words.one(f.ellipse->ovality95_mm->hi, shown_decimals(f.ellipse->u_ovality_mm)) + " (95 %)";
  }
  if (f.roundness && f.roundness->lsci) text += "; RONt " + words.one(f.roundness->lsci->ront_mm, 4);
  return text;
}

// Whether value +- 2 u says the 95 % interval.
bool even_interval(const CircleResult& c) {
  if (!c.diameter95_mm || !c.u_diameter_mm) return false;
  const double above = c.diameter95_mm->hi - c.diameter_mm, below = c.diameter_mm - c.diameter95_mm->lo;
  const double wanted = kNormal95 * *c.u_diameter_mm;
  return std::abs(above - wanted) < 0.1 * wanted && std::abs(below - wanted) < 0.1 * wanted;
}

// What is worth the last of four lines: what was left out, else an uneven interval or what it was combined of, else
// what the uncertainty comes from.
std::string last_row(const Feature& f, const LengthWords& words) {
  if (!f.excluded.empty()) {
    std::string text = sector_words(f.excluded.front(), words);
    if (f.excluded.size() > 1) text += fmt::format("; {} more", f.excluded.size() - 1);
    return row("left out", text);
  }
  if (f.combination.size() > 1) {
    std::string text;
    for (const auto& r : f.combination)
      text += fmt::format("{}{:.0f} % {} {}", text.empty() ? "" : ", ", 100 * r.weight, r.source,
                          words.one(r.radius_mm, 3));
    return row("combined", text);
  }
  const double half = share(f);
  if (f.circle && f.circle->diameter95_mm && !even_interval(*f.circle)) {
    const auto& range = *f.circle->diameter95_mm;
    const auto u = f.circle->u_diameter_mm ? std::optional(*f.circle->u_diameter_mm * half) : std::nullopt;
    return row("95 %", words.one_range({range.lo * half, range.hi * half}, shown_decimals(u)));
  }
  const std::string made_of = main_budget(f.budget, half, words);
  return made_of.empty() ? "" : row("u mostly", made_of);
}

std::string four_rows(const Feature& f, const LengthWords& words, const Ink& ink) {
  std::string text;
  if (f.circle) {
    const auto u =
        f.circle->u_diameter_mm ? std::optional(*f.circle->u_diameter_mm * share(f)) : std::nullopt;
    text += row(size_word(f, share(f) < 1), words.both(f.circle->diameter_mm * share(f), u));
  }
  if (f.verdict != OutlineForm::kNotJudged) text += shape_row(f, shape_in_text(f, words), ink);
  return text + last_row(f, words);
}

// Each note once, with the names it holds for where that is not all of them.
std::string notes(const std::vector<Feature>& features, const TextOptions& options) {
  const LengthWords lengths(options.unit);
  std::vector<std::pair<std::string, std::vector<std::string>>> once;
  for (const Feature& f : features)
    for (const Warning& w : f.warnings) {
      const auto there =
          std::ranges::find(once, lengths.sentence(w.text), &decltype(once)::value_type::first);
      if (there == once.end())
        once.push_back({lengths.sentence(w.text), {name_of(f)}});
      else if (there->second.back() != name_of(f))
        there->second.push_back(name_of(f));
    }
  std::string text;
  for (const auto& [words, names] : once) {
    std::string of;
    if (names.size() < features.size())
      for (const std::string& name : names) of += (of.empty() ? "" : ", ") + name;
    text += marked(wrapped_row("note", of.empty() ? words : of + ": " + words, options.width), "note",
                   options.ink, Says::kDoubtful);
  }
  return text;
}

}  // namespace

std::string features_text(const std::vector<Feature>& features, const TextOptions& options) {
  const LengthWords words(options.unit);
  std::string text;
  for (const Feature& f : features) {
    if (!text.empty() && options.all) text += '\n';
    text += heading(f) + (options.all ? every_row(f, words, options.ink) : four_rows(f, words, options.ink));
  }
  return text + notes(features, options);
}

std::string feature_text(const Feature& f, const TextOptions& options) { return features_text({f}, options); }

namespace {

// One row of the table, unpadded.
std::vector<std::string> table_cells(const Feature& f, const LengthWords& words) {
  constexpr std::size_t kFileWidth = 32;  // columns: of a long path the end, which tells most
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
    const double mm = f.circle->diameter_mm * share(f);
    const auto u =
        f.circle->u_diameter_mm ? std::optional(*f.circle->u_diameter_mm * share(f)) : std::nullopt;
    const LengthWords second(words.inch_first() ? LengthUnit::kMm : LengthUnit::kInch);
    const auto cell = [&](const LengthWords& in) {
      std::string text = (share(f) < 1 ? "R " : "") + in.one_u(mm, u);
      return text.substr(0, text.rfind(' '));  // the unit stands above
    };
    cells[2] = cell(words), cells[3] = cell(second);
  }
  if (f.ellipse) cells[4] = words.number(f.ellipse->ovality_mm, shown_decimals(f.ellipse->u_ovality_mm));
  for (const Warning& w : f.warnings)
    if (is_caution(w))
      cells[6] +=
          (cells[6].empty() ? "" : " ") + std::string(w.code.word().empty() ? "other" : w.code.word());
  return cells;
}

}  // namespace

std::string feature_table(const std::vector<Feature>& features, const TextOptions& options) {
  const LengthWords words(options.unit);
  const std::string first = words.symbol(), second = words.inch_first() ? "mm" : "in";
  std::vector<std::vector<std::string>> rows{
      {"photograph", "feature", "diameter " + first, second, "ovality " + first, "shape", "warnings"}};
  for (const Feature& f : features) rows.push_back(table_cells(f, words));
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
