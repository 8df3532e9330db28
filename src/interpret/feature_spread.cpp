#include "feature_spread.hpp"

namespace rondure {

FeatureSpread::FeatureSpread(const FeatureModel& f)
    : candidates(f.readings.size()), probability(f.readings.size(), 0), implied_mm(f.readings.size(), 0) {
  for (auto& of_reading : candidates)
    for (std::size_t system = 0; system < 2; ++system)
      of_reading[system].assign(f.candidates[system].size(), 0);
}

void FeatureSpread::add(const FeatureModel& f, const GridMembers& members,
                        const std::vector<double>& value_of_group, std::size_t system, std::size_t level,
                        double s, double log_scale) {
  struct Term {
    std::size_t candidate;
    double value;
  };
  static thread_local std::vector<Term> terms;
  for (std::size_t r = 0; r < f.readings.size(); ++r) {
    terms.clear();
    const double base =
        f.visit_terms(system, f.sd_mm[level], s, f.readings[r], [&](std::size_t i, double value) {
          if (const double prior = f.candidates[system][i].prior_weight; prior > 0)
            terms.push_back({i, value / prior * value_of_group[members.group_of[i]]});
        });
    if (terms.empty()) continue;
    const double scale = std::exp(base - log_scale);
    double sum = 0;
    for (const Term& t : terms) {
      candidates[r][system][t.candidate] += scale * t.value;
      sum += scale * t.value;
    }
    probability[r] += sum;
    implied_mm[r] += sum * f.readings[r].anchor_mm / (1 - f.share * s);
  }
}

std::array<std::vector<double>, 2> FeatureSpread::over_readings() const {
  auto sum = candidates.front();
  for (std::size_t r = 1; r < candidates.size(); ++r)
    for (std::size_t system = 0; system < 2; ++system)
      for (std::size_t i = 0; i < sum[system].size(); ++i) sum[system][i] += candidates[r][system][i];
  return sum;
}

}  // namespace rondure
