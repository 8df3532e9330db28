// The batches of a set: their rules over the shrinkage, and which part hangs on which.
#pragma once
#include <vector>

#include "set_posterior.hpp"
#include "set_shrinkage.hpp"

namespace rondure {

struct SetBatches {
  std::vector<BatchRule> rules;
  std::vector<std::vector<double>> s_ratio;  // per batch, at the nodes
  std::vector<std::size_t> of_part;
  std::vector<std::size_t> of_name;  // per batch of the model; SIZE_MAX: no part with a law
};

// Errors: kNoAnswer (sizes given too finely).
Result<SetBatches> make_batches(const SetModel& model);

}  // namespace rondure
