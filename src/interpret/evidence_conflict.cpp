#include <algorithm>
#include <cmath>
#include <cstdio>

#include "original_findings.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/normal_law.hpp"
#include "rondure/interpret/evidence_odds.hpp"

namespace rondure {
namespace {

// Chance of evidence at least as far to either side, when the original is as the measured sizes alone say.
double chance_of(const SizeEvidence& evidence, const FeatureModel& feature,
                 const std::array<std::vector<double>, 2>& p) {
  double below = 0, above = 0;
  for (std::size_t system = 0; system < 2; ++system)
    for (std::size_t i = 0; i < p[system].size(); ++i) {
      const double t = (evidence.size_mm.value - feature.candidates[system][i].size_mm) / evidence.size_mm.u;
      below += p[system][i] * normal_cdf(t);
      above += p[system][i] * normal_cdf(-t);
    }
  return std::clamp(2 * std::min(below, above), 0.0, 1.0);
}

// The size that would follow, were the evidence believed all the same; empty where none does.
std::string size_with(const SizeEvidence& evidence, std::span<const SizeObservation> sizes,
                      OriginalOptions options) {
  options.suggest = false;
  options.believe_evidence = true;
  const auto result = infer_original(sizes, options);
  if (!result) return {};
  for (const OriginalFeature& f : result->features)
    if (f.name == evidence.feature && !f.candidates.empty()) return f.candidates.front().label;
  return {};
}

Warning warn(std::span<const SizeObservation> sizes, const OriginalOptions& options,
             const SizeEvidence& evidence) {
  const auto measured = std::find_if(sizes.begin(), sizes.end(),
                                     [&](const SizeObservation& o) { return o.name == evidence.feature; });
  std::string text = "the evidence on '" + evidence.feature.substr(0, 40) + "' (" + evidence.source + ": " +
                     format_mm(evidence.size_mm.value, 3) + " +- " + format_mm(evidence.size_mm.u, 3) +
                     ") contradicts what was measured (" + format_mm(measured->size_mm, 3) + "): odds " +
                     odds_against(*evidence.chance) + " against it. It is left out of the answer";
  const std::string with_it = size_with(evidence, sizes, options);
  if (!with_it.empty()) text += "; believed all the same it would make " + with_it;
  text += evidence.from_drive
              ? ". Is the speed or ratio that of this part (turns of the part, not of the motor)?"
              : ". Is it another part, worn, or mistyped?";
  return {"evidence-contradicts", text};
}

}  // namespace

std::string odds_against(double chance) {
  char text[60];
  if (chance < 1e-6) return "more than 1,000,000 to 1";
  std::snprintf(text, sizeof text, "about %.0f to 1", (1 - chance) / chance);
  return text;
}

Result<std::vector<Warning>> judge_evidence(std::span<const SizeObservation> sizes,
                                            OriginalOptions& options) {
  std::vector<Warning> warnings;
  if (options.evidence.empty() || options.believe_evidence) return warnings;
  if (const auto valid = prepare_part(sizes, options); !valid) return valid.error();
  OriginalOptions measured_only = options;
  measured_only.evidence.clear();
  const auto part = prepare_part(sizes, measured_only);
  if (!part) return part.error();
  const auto posterior = integrate(part->model);
  if (!posterior) return posterior.error();
  for (SizeEvidence& e : options.evidence)
    for (std::size_t i = 0; i < sizes.size(); ++i)
      if (sizes[i].name == e.feature) {
        const FeatureModel& f = part->model.features[i];
        e.chance = chance_of(e, f, FeatureTerms(f, i, {&*posterior}).candidate_probabilities(*posterior));
        e.left_out = *e.chance < kEvidenceContradicts_chance;
      }
  for (const SizeEvidence& e : options.evidence)
    if (e.left_out) warnings.push_back(warn(sizes, options, e));
  return warnings;
}

}  // namespace rondure
