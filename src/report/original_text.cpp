#include "rondure/report/original_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "rondure/core/length.hpp"
#include "wrapped.hpp"

namespace rondure {
namespace {

constexpr std::size_t kBarCells = 24, kMostShown = 6;

// "|#########               |": legible without colour, on any terminal.
std::string bar(double probability) {
  const auto filled = static_cast<std::size_t>(std::lround(std::clamp(probability, 0.0, 1.0) * kBarCells));
  return "|" + std::string(filled, '#') + std::string(kBarCells - filled, ' ') + "|";
}

std::string in_other_unit(const SizeCandidate& c) {
  if (c.system == UnitSystem::kMetric) return fmt::format("{:.4f} in", c.size_mm / kMmPerInch);
  return fmt::format("{:.3f} mm", c.size_mm);
}

std::string verdict(const OriginalFeature& f, const Ink& ink) {
  const SizeCandidate& best = f.candidates.front();
  if (f.undecided)
    return fmt::format("{} (best: {}, {:.0f} %)", ink(Says::kDoubtful, "UNDECIDED"), best.label,
                       100 * best.probability);
  return fmt::format("{} {} ({}), {:.0f} %", ink(Says::kGood, "drawn as"), best.label, in_other_unit(best),
                     100 * best.probability);
}

std::string candidate_lines(const OriginalFeature& f) {
  std::string out;
  const std::size_t shown = std::min(f.candidates.size(), kMostShown);
  double rest = f.rest_probability;
  for (std::size_t i = 0; i < f.candidates.size(); ++i) {
    const SizeCandidate& c = f.candidates[i];
    if (i >= shown || (i >= 2 && c.probability < 0.01)) {
      rest += c.probability;
      continue;
    }
    out += fmt::format("    {:>12}  {:>10}  {} {:5.1f} %\n", c.label, in_other_unit(c), bar(c.probability),
                       100 * c.probability);
  }
  if (rest >= 0.005)
    out += fmt::format("    {:>12}  {:>10}  {} {:5.1f} %\n", "others", "", bar(rest), 100 * rest);
  return out;
}

std::string shape_lines(const OriginalFeature& f) {
  if (f.shapes.empty()) return {};
  std::string out =
      "    read as                                                   implied size    chance  best drawn\n";
  for (const ShapeVerdict& s : f.shapes) {
    const std::string implied = fmt::format(
        "{}{:.3f} mm", s.at_least ? (f.kind == FeatureKind::kBore ? "<= " : ">= ") : "", s.implied_mm);
    out += fmt::format("    {:<56} {:>13}   {:4.0f} %  {} ({:.0f} %)\n",
                       s.shape == ShapeHypothesis::kRound ? "round, not worn"
                       : s.shape == ShapeHypothesis::kUneven
                           ? "shrunk unevenly (original at least the major diameter)"
                       : s.shape == ShapeHypothesis::kBent ? "bent (perimeter kept)"
                                                           : "worn (original beyond the largest circle)",
                       implied, 100 * s.probability, s.best_label, 100 * s.best_probability);
  }
  return out;
}

std::string feature_lines(const OriginalFeature& f, const Ink& ink) {
  const int decimals = std::clamp(decimals_for_u(std::max(f.u_mm, 1e-3)), 3, 4);
  std::string out = fmt::format("{} ({})  measured {} +- {:.{}f} mm\n", f.name, f.kind.word(),
                                mm_and_inch(f.measured_mm, decimals), f.u_mm, decimals);
  if (f.ovality_mm)
    out += fmt::format("    oval, {:.3f} x {:.3f} mm\n", f.measured_mm + *f.ovality_mm / 2,
                       f.measured_mm - *f.ovality_mm / 2);
  if (f.share_of_shrinkage > 0 && f.shapes.empty())
    out += fmt::format("    before shrinking about {} +- {:.3f} mm (making scatter included)\n",
                       mm_and_inch(f.unshrunk_mm.value, 3), f.unshrunk_mm.u);
  if (f.candidates.empty()) return out;
  out += "    " + verdict(f, ink) + "\n" + candidate_lines(f) + shape_lines(f);
  return out;
}

}  // namespace

std::string help_words(double gain_bits, double best_bits) {
  // A tenth of a bit is from 60 to 70 % sure between two sizes.
  if (gain_bits < 0.1) return "helps a little";
  if (gain_bits >= best_bits) return "helps most";
  return gain_bits >= best_bits / 2 ? "helps nearly as much" : "helps";
}

std::string original_text(const OriginalResult& r, const Ink& ink) {
  std::string out = "Original sizes\n\n";
  for (const OriginalFeature& f : r.features) out += feature_lines(f, ink) + "\n";
  out += fmt::format("Unit system   metric {:.1f} %   inch {:.1f} %\n", 100 * r.p_metric,
                     100 * (1 - r.p_metric));
  out += fmt::format("Shrinkage     {:.2f} % (95 %: {:.2f} to {:.2f} %)   {}\n", 100 * r.shrinkage_mean,
                     100 * r.shrinkage95.lo, 100 * r.shrinkage95.hi, r.shrinkage_source);
  out += "              ageing only: the moulding shrinkage was in the mould and is not undone\n";
  for (const SizeEvidence& e : r.evidence)
    out += fmt::format("Evidence      '{}' was {} +- {:.3f} mm ({}){}\n", e.feature,
                       mm_and_inch(e.size_mm.value, 3), e.size_mm.u, e.source,
                       e.left_out ? ": CONTRADICTS the measured size, left out" : "");
  for (const DriveOutcome& d : r.drive)
    out +=
        fmt::format("              made {} the drive would be {:+.2f} % off\n", d.label, 100 * d.error_ratio);
  if (!r.reasons.empty()) {
    out += "\nWhat drives the answer";
    if (!r.about.empty()) out += " for '" + r.about + "'";
    out += "\n";
    for (const std::string& reason : r.reasons) out += wrapped(reason, "  - ", "    ");
  }
  if (!r.measure_next.empty()) {
    out += "\nWhat to measure next, to know what '" + r.about + "' was drawn as\n";
    for (const NextMeasurement& n : r.measure_next)
      out += wrapped(
          n.what + " (" + help_words(n.expected_gain_bits, r.measure_next.front().expected_gain_bits) + ")",
          "  - ", "    ");
  }
  for (const Warning& w : r.warnings)
    out += wrapped(w.text, "\n", "warning:", "         ", ink, Says::kDoubtful);
  return out;
}

}  // namespace rondure
