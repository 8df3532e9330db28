// A posterior spread over the drawn sizes of one feature, reading by reading.
#pragma once
#include <array>
#include <vector>

#include "feature_model.hpp"

namespace rondure {

struct FeatureSpread {
  // Per reading of the feature's shape: probability of each candidate, per system; of the reading; and the size before
  // shrinking times that.
  std::vector<std::array<std::vector<double>, 2>> candidates;
  std::vector<double> probability, implied_mm;

  explicit FeatureSpread(const FeatureModel& feature);
  // Adds exp(-log_scale) * likelihood * value of the candidate's group, for every candidate.
  void add(const FeatureModel& feature, const GridMembers& members, const std::vector<double>& value_of_group,
           std::size_t system, std::size_t level, double s_ratio, double log_scale);
  std::array<std::vector<double>, 2> over_readings() const;
};

}  // namespace rondure
