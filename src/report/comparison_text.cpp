#include "rondure/report/comparison_text.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "rondure/core/shown.hpp"
#include "rondure/record/comparison_json.hpp"

namespace rondure {
namespace {

// Arcs are spoken of by their radius.
double share(const FeatureComparison& f) { return f.kind.drawn_share(); }

int decimals_of(const FeatureComparison& f) {
  const auto u = f.u_difference_mm ? f.u_difference_mm : f.u_b_mm;
  return shown_decimals(u ? std::optional(*u * share(f)) : std::nullopt);
}

// B - A in a unit, with its standard uncertainty where there is one.
std::string difference_in(const FeatureComparison& f, bool inch, int decimals_mm, bool with_u) {
  const double scale = share(f) / (inch ? kMmPerInch : 1);
  const int decimals = decimals_mm + (inch ? 1 : 0);
  std::string text = fmt::format("{:+.{}f}", f.difference_mm * scale, decimals);
  if (f.u_difference_mm && with_u) text += fmt::format(" +- {:.{}f}", *f.u_difference_mm * scale, decimals);
  return text;
}

std::string conclusion(const FeatureComparison& f) {
  std::string text;
  if (f.change) text = *f.change == SizeChange::kNotShown ? "no change shown" : std::string(name(*f.change));
  if (f.decision) text += (text.empty() ? "" : ", ") + words(f.decision->verdict);
  if (text.empty()) text = "cannot tell (no uncertainty)";
  return text;
}

std::string table(const Comparison& c, const LengthWords& words, bool all) {
  const std::string first = words.symbol(), second = words.inch_first() ? "mm" : "in";
  std::vector<std::vector<std::string>> rows{
      {"feature", "A " + first, "B " + first, "B - A (+- u)", second, ""}};
  for (const auto& f : c.features) {
    const int decimals = decimals_of(f);
    const std::string a = f.a_mm      ? words.number(*f.a_mm * share(f), decimals)
                          : f.planned ? "(" + words.number(f.planned->target_mm * share(f), decimals) + ")"
                                      : "";
    rows.push_back({f.name + (f.kind == FeatureKind::kArc ? " radius" : ""), a,
                    words.number(f.b_mm * share(f), decimals),
                    difference_in(f, words.inch_first(), decimals, true),
                    difference_in(f, !words.inch_first(), decimals, all), conclusion(f)});
  }
  std::vector<std::size_t> widths(rows.front().size(), 0);
  for (const auto& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], row[i].size());
  std::string text;
  for (const auto& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i)
      line += i == 1 || i == 2 ? fmt::format("{:>{}}  ", row[i], widths[i])
                               : fmt::format("{:<{}}  ", row[i], widths[i]);
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  return text;
}

std::string limit_words(const SizeLimits& limits, double factor, const LengthWords& words) {
  const auto share_of = [&](const std::optional<double>& mm) {
    return mm ? std::optional(*mm * factor) : std::nullopt;
  };
  const PrintedLimits printed(share_of(limits.lower_mm), share_of(limits.upper_mm));
  const std::string mm = printed.range(LengthUnit::kMm) + " mm",
                    inch = printed.range(LengthUnit::kInch) + " in";
  return words.inch_first() ? inch + " (" + mm + ")" : mm + " (" + inch + ")";
}

std::string chance(double p) {
  if (p > 0.999) return "over 99.9 %";
  if (p < 0.001) return "under 0.1 %";
  return fmt::format("{:.{}f} %", 100 * p, p < 0.1 || p > 0.9 ? 1 : 0);
}

std::string limits_row(const FeatureComparison& f, const LengthWords& words, const TextOptions& options) {
  if (!f.decision) return {};
  const Decision& d = *f.decision;
  const bool of_plan = f.planned && (f.planned->limits.lower_mm || f.planned->limits.upper_mm);
  std::string text = of_plan ? "planned " + limit_words(f.planned->limits, share(f), words)
                             : std::string("allowed difference");
  text += ": " + rondure::words(d.verdict);
  if (d.guard_mm)
    text += fmt::format(" (guard band {}, chance to be within {})",
                        words.one(*d.guard_mm * share(f), shown_decimals(*d.guard_mm * share(f))),
                        chance(*d.probability_within));
  const Says says = d.verdict == Conformity::kWithin    ? Says::kGood
                    : d.verdict == Conformity::kOutside ? Says::kBad
                                                        : Says::kDoubtful;
  const std::string shown = wrapped(text, "  ", "    ", options.width);
  const auto colon = shown.find(": ");
  return shown.substr(0, colon) + marked(shown.substr(colon), rondure::words(d.verdict), options.ink, says);
}

std::string shape_rows(const FeatureComparison& f, const LengthWords& words, const TextOptions& options) {
  std::string text;
  const auto pair = [&](const char* what, std::optional<double> a, std::optional<double> b) {
    if (a && b) text += fmt::format("  {} {} -> {}\n", what, words.number(*a, 4), words.one(*b, 4));
  };
  pair("ovality", f.ovality_a_mm, f.ovality_b_mm);
  if (options.all) pair("roundness deviation RONt (LSCI)", f.ront_a_mm, f.ront_b_mm);
  int unchanged = 0;
  for (const HarmonicChange& h : f.harmonics) {
    if (!h.shown) {
      ++unchanged;
      continue;
    }
    text += wrapped(fmt::format("{} per turn: {} -> {}; the difference is {} +- {}, high towards {:.0f} deg",
                                h.upr, words.number(h.before_mm, 4), words.one(h.after_mm, 4),
                                words.number(h.amplitude_mm, 4), words.one(*h.u_mm, 4), h.phase_deg),
                    "  ", "    ", options.width);
  }
  const auto known = std::ranges::count_if(f.harmonics, [](const auto& h) { return h.u_mm.has_value(); });
  if (known > 0 && unchanged == static_cast<int>(f.harmonics.size())) text += "  no change of shape shown\n";
  return text;
}

// What cancels between A and B, once for all features that share it.
std::string shared_rows(const Comparison& c, std::size_t width) {
  std::vector<std::pair<std::string, std::string>> once;  // what is shared, features
  for (const FeatureComparison& f : c.features) {
    if (f.shared.empty()) continue;
    std::string names;
    for (const UncertaintySource source : f.shared)
      names.append(names.empty() ? "" : ", ").append(name(source));
    const auto there = std::ranges::find(once, names, &std::pair<std::string, std::string>::first);
    if (there == once.end())
      once.emplace_back(names, f.name);
    else
      there->second += ", " + f.name;
  }
  std::string text;
  for (const auto& [names, features] : once)
    text += wrapped("same calibration: " + names + " cancels in the difference (" + features + ")", "", "  ",
                    width);
  return text;
}

std::string shrinkage_row(const CommonShrinkage& s) {
  const int decimals = std::min(4, decimals_for_u(100 * s.ratio.u));
  std::string text =
      fmt::format("shrinkage since A  {:.{}f} +- {:.{}f} % (95 %: {:.{}f} to {:.{}f} %), from {} feature{}",
                  100 * s.ratio.value, decimals, 100 * s.ratio.u, decimals, 100 * s.ratio95.lo, decimals,
                  100 * s.ratio95.hi, decimals, s.features, s.features == 1 ? "" : "s");
  if (s.p_alike)
    text +=
        *s.p_alike < 0.05 ? "; NOT all alike: wear or distortion as well as shrinkage" : "; all shrank alike";
  return text;
}

std::string list_row(const char* what, const std::vector<std::string>& names) {
  if (names.empty()) return {};
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  return fmt::format("{}: {}\n", what, text);
}

}  // namespace

std::string comparison_text(const Comparison& c, const std::string& label_a, const std::string& label_b,
                            const TextOptions& options) {
  const LengthWords words(options.unit);
  std::string text = fmt::format("A  {}\nB  {}\n", label_a, label_b);
  if (c.turn_rad) text += fmt::format("   turned back by {:.1f} deg\n", deg(*c.turn_rad));
  text += "\n" + table(c, words, options.all);
  for (const FeatureComparison& f : c.features) {
    const std::string rows = limits_row(f, words, options) + shape_rows(f, words, options);
    if (!rows.empty()) text += "\n" + f.name + "\n" + rows;
  }
  text += "\n" + shared_rows(c, options.width);
  if (c.shrinkage) text += wrapped(shrinkage_row(*c.shrinkage), "", "  ", options.width);
  text += list_row("only in A", c.only_in_a) + list_row("only in B", c.only_in_b);
  for (const Warning& w : c.warnings)
    text += marked(wrapped(words.sentence(w.text), "note: ", "      ", options.width), "note:", options.ink,
                   Says::kDoubtful);
  return text;
}

}  // namespace rondure
