// What stands beside the probabilities: the facts that drive them, doubts, and what to measure next.
#pragma once
#include <span>
#include <string>
#include <vector>

#include "feature_spread.hpp"
#include "original_model.hpp"

namespace rondure {

// What has been worked out of a part, for everything that is said about it.
struct Inference {
  const PreparedPart& part;
  const Posterior& posterior;
  std::vector<std::optional<Posterior>> without;  // per feature: what the others alone say
  FeatureTerms about;                             // of the feature in question
};
// With the posteriors without one feature too when there are reasons to be given.
Inference infer(const PreparedPart& part, const Posterior& posterior, bool with_reasons);

// Every candidate with some probability, most probable first.
std::vector<SizeCandidate> ranked(const FeatureModel& feature, const std::array<std::vector<double>, 2>& p);
// The readings of an oval or possibly worn feature, side by side; none of a plain one.
std::vector<ShapeVerdict> shape_verdicts(const FeatureModel& feature, const FeatureSpread& spread);
// What is said of feature i, `all` being its ranked candidates.
OriginalFeature feature_result(const SizeObservation& size, const OriginalOptions& options,
                               const PreparedPart& part, std::size_t i, const Posterior& posterior,
                               const std::vector<SizeCandidate>& all);
// Doubts about the part as a whole.
void add_warnings(const OriginalOptions& options, const PreparedPart& part, OriginalResult& result);
std::string describe_shrinkage_source(const OriginalOptions& options, const AgeingMaterial& material);
// Sets chance and left_out of each evidence. Returns a warning for each that contradicts the measured sizes.
// Errors: those of prepare_part and integrate.
Result<std::vector<Warning>> judge_evidence(std::span<const SizeObservation> sizes, OriginalOptions& options);

std::vector<std::string> driving_facts(std::span<const SizeObservation> sizes, const OriginalOptions& options,
                                       const Inference& inference);

std::vector<NextMeasurement> next_measurements(std::span<const SizeObservation> sizes,
                                               const OriginalOptions& options, const Inference& inference);

}  // namespace rondure
