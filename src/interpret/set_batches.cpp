#include "set_batches.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace rondure {
namespace {

// Step of the trapezium rule over what is at least so wide: off by 2 exp(-2 pi^2 / 0.75^2) = 1e-15 for a
// normal law; tests/interpret/test_original_set.cpp halves it.
constexpr double kNodeStep_widths = 0.75;
constexpr double kLongestStep_z = 0.09;    // laws of several parts bend s(z) within less than 1
constexpr std::size_t kMostNodes = 20000;  // bounds time and memory

double widest_slope(const ShrinkageLaw& law) {
  std::vector<double> z;
  for (int i = -50; i <= 50; ++i) z.push_back(0.1 * i);
  const auto s = shrinkage_quantiles(law, z);
  double slope = 0;
  for (std::size_t i = 1; i < s.size(); ++i) slope = std::max(slope, (s[i] - s[i - 1]) / 0.1);
  return slope;
}

Result<void> make_batch(const SetModel& model, std::size_t batch, SetBatches& batches) {
  double step = INFINITY;
  std::size_t parts = 0;
  const ShrinkageLaw* law = nullptr;
  for (const double r : model.likeness) step = std::min(step, std::sqrt(1 - r));
  const double scatter = step;
  for (const SetModel::Part& part : model.parts) {
    if (part.batch != batch || part.model.law.exact()) continue;
    law = &part.model.law;
    ++parts;
  }
  const double slope = widest_slope(*law);
  for (const SetModel::Part& part : model.parts) {
    if (part.batch != batch || part.model.law.exact()) continue;
    const double precision = with_precision_of_features(0, part.model);
    if (precision > 0) step = std::min(step, 1 / std::hypot(1 / scatter, std::sqrt(precision) * slope));
  }
  step = std::min(kNodeStep_widths * step, kLongestStep_z) * model.step_scale;
  if (!(2 * kReach_z / step < kMostNodes))
    return Error{ErrorCode::kNoAnswer,
                 "the sizes are given too finely to sum over the shrinkage, needed u of 0.0001 mm or more"};
  batches.rules.push_back(BatchRule(model.likeness, parts, step, model.step_scale));
  batches.s_ratio.push_back(shrinkage_quantiles(*law, batches.rules.back().nodes()));
  return {};
}

}  // namespace

Result<SetBatches> make_batches(const SetModel& model) {
  SetBatches batches;
  batches.of_name.assign(model.batches, SIZE_MAX);
  for (const SetModel::Part& part : model.parts) {
    if (part.model.law.exact()) {
      batches.of_part.push_back(batches.rules.size());
      batches.rules.push_back(BatchRule());
      batches.s_ratio.push_back({part.model.law.mean()});
      continue;
    }
    std::size_t& named = batches.of_name[part.batch];
    if (named == SIZE_MAX) {
      named = batches.rules.size();
      if (const auto ok = make_batch(model, part.batch, batches); !ok) return ok.error();
    }
    batches.of_part.push_back(named);
  }
  return batches;
}

}  // namespace rondure
