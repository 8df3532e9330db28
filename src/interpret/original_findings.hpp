// What stands beside the probabilities: the facts that drive them, doubts, and what to measure next.
#pragma once
#include <span>
#include <string>
#include <vector>

#include "original_model.hpp"

namespace rondure {

// The posterior without one feature: what the others alone say. Nothing when it is the only one.
std::vector<std::optional<Posterior>> leave_one_out(const PreparedPart& part);

std::vector<std::string> driving_facts(std::span<const SizeObservation> sizes, const OriginalOptions& options,
                                       const PreparedPart& part, const Posterior& posterior,
                                       const std::vector<std::optional<Posterior>>& without);

std::vector<NextMeasurement> next_measurements(std::span<const SizeObservation> sizes,
                                               const OriginalOptions& options, const PreparedPart& part,
                                               const Posterior& posterior);

}  // namespace rondure
