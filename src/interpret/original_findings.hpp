// What stands beside the probabilities: the facts that drive them, doubts, and what to measure next.
#pragma once
#include <span>
#include <string>
#include <vector>

#include "original_model.hpp"

namespace rondure {

// What has been worked out of a part, for everything that is said about it.
struct Inference {
  const PreparedPart& part;
  const Posterior& posterior;
  std::vector<std::optional<Posterior>> without;  // per feature: what the others alone say
  std::vector<FeatureTerms> terms;                // per feature
};

// Every candidate with some probability, most probable first.
std::vector<SizeCandidate> ranked(const FeatureModel& feature, const std::array<std::vector<double>, 2>& p);
// What is said of feature i, `all` being its ranked candidates.
OriginalFeature feature_result(const SizeObservation& size, const OriginalOptions& options,
                               const PreparedPart& part, std::size_t i, const Posterior& posterior,
                               const FeatureTerms& terms, const std::vector<SizeCandidate>& all);
std::string describe_shrinkage_source(const OriginalOptions& options, const AgeingMaterial& material);
// Sets chance and left_out of each evidence. Returns a warning for each that contradicts the measured sizes.
// Errors: those of prepare_part and integrate.
Result<std::vector<Warning>> judge_evidence(std::span<const SizeObservation> sizes, OriginalOptions& options);

std::vector<std::string> driving_facts(std::span<const SizeObservation> sizes, const OriginalOptions& options,
                                       const Inference& inference);

std::vector<NextMeasurement> next_measurements(std::span<const SizeObservation> sizes,
                                               const OriginalOptions& options, const Inference& inference);

}  // namespace rondure
