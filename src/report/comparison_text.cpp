#include "rondure/report/comparison_text.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "rondure/core/length.hpp"
#include "rondure/record/comparison_json.hpp"
#include "wrapped.hpp"

namespace rondure {
namespace {

// Arcs are spoken of by their radius.
double share(const FeatureComparison& f) { return f.kind.drawn_share(); }

int decimals_of(const FeatureComparison& f) {
  const auto u = f.u_difference_mm ? f.u_difference_mm : f.u_b_mm;
  return u ? decimals_for_u(*u * share(f)) : 4;
}

// B - A in a unit, with its standard uncertainty where there is one.
std::string difference_in(const FeatureComparison& f, double unit_mm, int decimals) {
  const double scale = share(f) / unit_mm;
  std::string text = fmt::format("{:+.{}f}", f.difference_mm * scale, decimals);
  if (f.u_difference_mm) text += fmt::format(" +- {:.{}f}", *f.u_difference_mm * scale, decimals);
  return text;
}

std::string conclusion(const FeatureComparison& f) {
  std::string text;
  if (f.change) text = *f.change == SizeChange::kNotShown ? "no change shown" : std::string(name(*f.change));
  if (f.decision) text += (text.empty() ? "" : ", ") + words(f.decision->verdict);
  if (text.empty()) text = "cannot tell (no uncertainty)";
  return text;
}

std::string table(const Comparison& c) {
  std::size_t width = 7;
  for (const auto& f : c.features)
    width = std::max(width, f.name.size() + (f.kind == FeatureKind::kArc ? 7 : 0));
  std::string text = fmt::format("{:<{}}  {:>9}  {:>9}  {:<20}  {:<22}  {}\n", "feature", width, "A mm",
                                 "B mm", "B - A mm (+- u)", "in", "");
  for (const auto& f : c.features) {
    const int decimals = decimals_of(f);
    const std::string a = f.a_mm      ? fmt::format("{:.{}f}", *f.a_mm * share(f), decimals)
                          : f.planned ? fmt::format("({:.{}f})", f.planned->target_mm * share(f), decimals)
                                      : "";
    text += fmt::format("{:<{}}  {:>9}  {:>9}  {:<20}  {:<22}  {}\n",
                        f.name + (f.kind == FeatureKind::kArc ? " radius" : ""), width, a,
                        fmt::format("{:.{}f}", f.b_mm * share(f), decimals), difference_in(f, 1, decimals),
                        difference_in(f, kMmPerInch, decimals + 1), conclusion(f));
  }
  return text;
}

std::string limit_words(const SizeLimits& limits, double factor) {
  if (limits.lower_mm && limits.upper_mm)
    return fmt::format("{:.4f} to {:.4f} mm ({:.5f} to {:.5f} in)", *limits.lower_mm * factor,
                       *limits.upper_mm * factor, *limits.lower_mm * factor / kMmPerInch,
                       *limits.upper_mm * factor / kMmPerInch);
  if (limits.lower_mm) return "from " + mm_and_inch(*limits.lower_mm * factor);
  return "up to " + mm_and_inch(*limits.upper_mm * factor);
}

std::string chance(double p) {
  if (p > 0.999) return "over 99.9 %";
  if (p < 0.001) return "under 0.1 %";
  return fmt::format("{:.{}f} %", 100 * p, p < 0.1 || p > 0.9 ? 1 : 0);
}

std::string marked(Conformity verdict, const Ink& ink) {
  const Says says = verdict == Conformity::kWithin    ? Says::kGood
                    : verdict == Conformity::kOutside ? Says::kBad
                                                      : Says::kDoubtful;
  return ink(says, words(verdict));
}

std::string limits_row(const FeatureComparison& f, const Ink& ink) {
  if (!f.decision) return {};
  const Decision& d = *f.decision;
  const bool of_plan = f.planned && (f.planned->limits.lower_mm || f.planned->limits.upper_mm);
  std::string text =
      of_plan ? "planned " + limit_words(f.planned->limits, share(f)) : std::string("allowed difference");
  text += ": " + marked(d.verdict, ink);
  if (d.guard_mm)
    text += fmt::format(" (guard band {:.{}f} mm, chance to be within {})", *d.guard_mm * share(f),
                        decimals_for_u(*d.guard_mm * share(f)), chance(*d.probability_within));
  return "  " + text + "\n";
}

std::string shape_rows(const FeatureComparison& f) {
  std::string text;
  const auto pair = [&](const char* what, std::optional<double> a, std::optional<double> b) {
    if (a && b) text += fmt::format("  {} {:.4f} -> {:.4f} mm\n", what, *a, *b);
  };
  pair("ovality", f.ovality_a_mm, f.ovality_b_mm);
  pair("roundness deviation RONt (LSCI)", f.ront_a_mm, f.ront_b_mm);
  int unchanged = 0;
  for (const HarmonicChange& h : f.harmonics) {
    if (h.shown)
      text += fmt::format(
          "  {} per turn: {:.4f} -> {:.4f} mm; the difference is {:.4f} +- {:.4f} mm, high towards {:.0f} "
          "deg\n",
          h.upr, h.before_mm, h.after_mm, h.amplitude_mm, *h.u_mm, h.phase_deg);
    else
      ++unchanged;
  }
  const auto known = std::ranges::count_if(f.harmonics, [](const auto& h) { return h.u_mm.has_value(); });
  if (known > 0 && unchanged == static_cast<int>(f.harmonics.size())) text += "  no change of shape shown\n";
  return text;
}

std::string shared_row(const FeatureComparison& f) {
  if (f.shared.empty()) return {};
  std::string names;
  for (const UncertaintySource source : f.shared)
    names.append(names.empty() ? "" : ", ").append(name(source));
  return "  same calibration: " + names + " cancels in the difference\n";
}

std::string shrinkage_row(const CommonShrinkage& s) {
  const int decimals = std::min(4, decimals_for_u(100 * s.ratio.u));
  std::string text =
      fmt::format("shrinkage since A  {:.{}f} +- {:.{}f} % (95 %: {:.{}f} to {:.{}f} %), from {} feature{}",
                  100 * s.ratio.value, decimals, 100 * s.ratio.u, decimals, 100 * s.ratio95.lo, decimals,
                  100 * s.ratio95.hi, decimals, s.features, s.features == 1 ? "" : "s");
  if (s.p_alike)
    text += *s.p_alike < 0.05 ? "; NOT alike: wear or distortion besides shrinkage" : "; all shrank alike";
  return text + "\n";
}

std::string list_row(const char* what, const std::vector<std::string>& names) {
  if (names.empty()) return {};
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  return fmt::format("{}: {}\n", what, text);
}

}  // namespace

std::string comparison_text(const Comparison& c, const std::string& label_a, const std::string& label_b,
                            const Ink& ink) {
  std::string text = fmt::format("A  {}\nB  {}\n", label_a, label_b);
  if (c.turn_rad) text += fmt::format("   turned back by {:.1f} deg\n", deg(*c.turn_rad));
  text += "\n" + table(c);
  for (const FeatureComparison& f : c.features) {
    const std::string rows = limits_row(f, ink) + shape_rows(f) + shared_row(f);
    if (!rows.empty()) text += "\n" + f.name + "\n" + rows;
  }
  text += "\n";
  if (c.shrinkage) text += shrinkage_row(*c.shrinkage);
  text += list_row("only in A", c.only_in_a) + list_row("only in B", c.only_in_b);
  for (const Warning& w : c.warnings) text += wrapped(w.text, "", "note:", "      ", ink, Says::kDoubtful);
  return text;
}

}  // namespace rondure
