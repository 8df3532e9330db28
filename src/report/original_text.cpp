#include "rondure/report/original_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "rondure/core/percent.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/interpret/evidence_odds.hpp"
#include "rondure/plan/plan_text.hpp"

namespace rondure {
namespace {

// Columns of a bar, and candidates listed: with --all, and without, where a feature has four lines in all.
constexpr std::size_t kBarCells = 24, kMostShown = 6, kShownOfFour = 2;

// "|#########               |": legible without colour, on any terminal.
std::string bar(double probability) {
  const auto filled = static_cast<std::size_t>(std::lround(std::clamp(probability, 0.0, 1.0) * kBarCells));
  return "|" + std::string(filled, '#') + std::string(kBarCells - filled, ' ') + "|";
}

// Of a bar: a tenth of a per cent, short of certainty.
std::string tenths(double probability) {
  return probability > 0.9995 ? ">99.9" : fmt::format("{:.1f}", 100 * probability);
}

std::string in_other_unit(const SizeCandidate& c) {
  if (c.system == UnitSystem::kMetric) return fmt::format("{:.4f} in", c.size_mm / kMmPerInch);
  return fmt::format("{:.3f} mm", c.size_mm);
}

const char* read_as(ShapeHypothesis shape) {
  switch (shape) {
    case ShapeHypothesis::kRound:
      return "round, not worn";
    case ShapeHypothesis::kUneven:
      return "shrunk unevenly";
    case ShapeHypothesis::kBent:
      return "bent";
    default:
      return "worn";
  }
}

std::string verdict(const OriginalFeature& f) {
  const SizeCandidate& best = f.candidates.front();
  std::string text =
      f.undecided
          ? fmt::format("UNDECIDED (best: {}, {})", best.label, percent(best.probability))
          : fmt::format("drawn as {} ({}), {}", best.label, in_other_unit(best), percent(best.probability));
  std::string shapes;
  for (const ShapeVerdict& s : f.shapes)
    if (s.probability >= 0.1)
      shapes +=
          fmt::format("{}{} {}", shapes.empty() ? "; " : ", ", read_as(s.shape), percent(s.probability));
  return text + shapes;
}

std::string candidate_lines(const OriginalFeature& f, bool all) {
  std::string out;
  const std::size_t shown = std::min(f.candidates.size(), all ? kMostShown : kShownOfFour);
  double rest = f.rest_probability;
  for (std::size_t i = 0; i < f.candidates.size(); ++i) {
    const SizeCandidate& c = f.candidates[i];
    if (i >= shown || (i >= (all ? 2u : 1u) && c.probability < 0.01)) {
      rest += c.probability;
      continue;
    }
    out += fmt::format("    {:>12}  {:>10}  {} {:>5} %\n", c.label, in_other_unit(c), bar(c.probability),
                       tenths(c.probability));
  }
  if (all && rest >= 0.005)
    out += fmt::format("    {:>12}  {:>10}  {} {:>5} %\n", "others", "", bar(rest), tenths(rest));
  return out;
}

std::string shape_lines(const OriginalFeature& f, const LengthWords& words, std::size_t width) {
  std::string out;
  for (const ShapeVerdict& s : f.shapes) {
    const char* why = s.shape == ShapeHypothesis::kUneven  ? " (original at least the major diameter)"
                      : s.shape == ShapeHypothesis::kBent  ? " (perimeter kept)"
                      : s.shape == ShapeHypothesis::kRound ? ""
                                                           : " (original beyond the largest circle)";
    out += wrapped(fmt::format("read as {}{}: {}{} before shrinking, {}; then {} ({})", read_as(s.shape), why,
                               s.at_least ? (f.kind == FeatureKind::kBore ? "at most " : "at least ") : "",
                               words.one(s.implied_mm, 3), percent(s.probability), s.best_label,
                               percent(s.best_probability)),
                   "    ", "      ", width);
  }
  return out;
}

std::string feature_lines(const OriginalFeature& f, const LengthWords& words, const TextOptions& options) {
  std::string text =
      fmt::format("{} ({})  measured {}", f.name, f.kind.word(), words.both(f.measured_mm, f.u_mm, true));
  const bool oval = f.ovality_mm.has_value();
  if (oval) text += ", oval by " + words.one(*f.ovality_mm, 4);
  std::string out = wrapped(text, "", "    ", options.width);
  if (options.all && f.share_of_shrinkage > 0 && f.shapes.empty())
    out += wrapped(fmt::format("before shrinking about {} (making scatter included)",
                               words.both(f.unshrunk_mm.value, f.unshrunk_mm.u, true)),
                   "    ", "      ", options.width);
  if (f.candidates.empty()) return out;
  const Ink& ink = options.ink;
  const std::string told = wrapped(verdict(f), "    ", "      ", options.width);
  out += (f.undecided ? marked(told, "UNDECIDED", ink, Says::kDoubtful)
                      : marked(told, "drawn as", ink, Says::kGood)) +
         candidate_lines(f, options.all);
  return out + (options.all ? shape_lines(f, words, options.width) : std::string());
}

// What was said of a size, and where it contradicts the measured one: the odds, and the answer without it.
std::string evidence_lines(const SizeEvidence& e, const OriginalResult& r, const LengthWords& words,
                           std::size_t width) {
  const std::string indent(14, ' ');
  std::string out = wrapped(
      fmt::format("'{}' was {} ({})", e.feature, words.both(e.size_mm.value, e.size_mm.u, true), e.source),
      "Evidence      ", indent, width);
  if (!e.left_out) return out;
  std::string told =
      "CONTRADICTS the measured size, odds " + odds_against(e.chance.value_or(0)) + " against it: left out.";
  for (const OriginalFeature& f : r.features)
    if (f.name == e.feature && !f.candidates.empty())
      told += fmt::format(" Without it {} ({}, as above)", f.candidates.front().label,
                          percent(f.candidates.front().probability));
  return out + wrapped(told, indent, indent, width);
}

}  // namespace

std::string help_words(double gain_bits, double best_bits) {
  // A tenth of a bit is from 60 to 70 % sure between two sizes.
  if (gain_bits < 0.1) return "helps a little";
  if (gain_bits >= best_bits) return "helps most";
  return gain_bits >= best_bits / 2 ? "helps nearly as much" : "helps";
}

std::string original_text(const OriginalResult& r, const TextOptions& options) {
  const LengthWords words(options.unit);
  const std::size_t width = options.width;
  std::string out = "Original sizes\n\n";
  for (const OriginalFeature& f : r.features)
    out += feature_lines(f, words, options) + (options.all || &f == &r.features.back() ? "\n" : "");
  out += fmt::format("Unit system   metric {}   inch {}\n", percent(r.p_metric), percent(1 - r.p_metric));
  const std::string indent(14, ' ');
  out +=
      wrapped(r.has_shrunk() ? fmt::format("{:.2f} % (95 %: {:.2f} to {:.2f} %); {}", 100 * r.shrinkage_mean,
                                           100 * r.shrinkage95.lo, 100 * r.shrinkage95.hi, r.shrinkage_source)
                             : "none (" + r.shrinkage_source + ")",
              "Shrinkage     ", indent, width);
  if (r.has_shrunk())
    out += wrapped("ageing only: the moulding shrinkage was in the mould and is not undone", indent, indent,
                   width);
  for (const SizeEvidence& e : r.evidence) out += evidence_lines(e, r, words, width);
  for (const DriveOutcome& d : r.drive)
    out += fmt::format("{}made {} the drive would be {:+.{}f} % off\n", indent, d.label, 100 * d.error_ratio,
                       std::abs(d.error_ratio) < 1 ? 2 : 0);
  if (!r.reasons.empty()) {
    out += "\nWhat drives the answer";
    if (!r.about.empty()) out += " for '" + r.about + "'";
    out += "\n";
    for (const std::string& reason : r.reasons) out += wrapped(words.sentence(reason), "  - ", "    ", width);
  }
  if (!r.measure_next.empty()) {
    out += "\nWhat to measure next, to know what '" + r.about + "' was drawn as\n";
    for (const NextMeasurement& n : r.measure_next)
      out += wrapped(words.sentence(n.what) + " (" +
                         help_words(n.expected_gain_bits, r.measure_next.front().expected_gain_bits) + ")",
                     "  - ", "    ", width);
  }
  for (const Warning& w : r.warnings)
    out += plan::is_note(w) ? wrapped(words.sentence(w.text), "\nnote: ", "      ", width)
                            : marked(wrapped(words.sentence(w.text), "\nwarning: ", "         ", width),
                                     "warning:", options.ink, Says::kDoubtful);
  return out;
}

}  // namespace rondure
