#include "original_posterior.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace rondure {

bool normalise(Posterior& posterior) {
  double top = -INFINITY, sum = 0;
  for (const auto& block : posterior.blocks)
    top = std::max(top, *std::max_element(block.mass.begin(), block.mass.end()));
  if (!std::isfinite(top)) return false;
  for (auto& block : posterior.blocks)
    for (double& m : block.mass) sum += m = std::exp(m - top);
  for (auto& block : posterior.blocks)
    for (double& m : block.mass) m /= sum;
  posterior.log_evidence = top + std::log(sum);
  return true;
}

std::optional<Posterior> Posterior::without(std::size_t feature_index) const {
  Posterior rest = *this;
  for (auto& block : rest.blocks) {
    if (block.log_likelihood.size() < 2) return std::nullopt;
    for (std::size_t k = 0; k < s_ratio.size(); ++k) {
      block.mass[k] = block.log_chance + log_weight[k];
      for (std::size_t i = 0; i < block.log_likelihood.size(); ++i)
        if (i != feature_index) block.mass[k] += block.log_likelihood[i][k];
    }
  }
  if (!normalise(rest)) return std::nullopt;
  return rest;
}

double Posterior::system_probability(std::size_t system) const {
  double p = 0;
  for (const Block& b : blocks)
    if (b.system == system) p += std::accumulate(b.mass.begin(), b.mass.end(), 0.0);
  return p;
}

double Posterior::level_probability(std::size_t level) const {
  double p = 0;
  for (const Block& b : blocks)
    if (b.level == level) p += std::accumulate(b.mass.begin(), b.mass.end(), 0.0);
  return p;
}

double Posterior::mean_shrinkage() const {
  double mean = 0;
  for (const Block& b : blocks)
    for (std::size_t k = 0; k < s_ratio.size(); ++k) mean += b.mass[k] * s_ratio[k];
  return mean;
}

double Posterior::sd_shrinkage() const {
  const double mean = mean_shrinkage();
  double variance = 0;
  for (const Block& b : blocks)
    for (std::size_t k = 0; k < s_ratio.size(); ++k)
      variance += b.mass[k] * (s_ratio[k] - mean) * (s_ratio[k] - mean);
  return std::sqrt(variance);
}

Interval Posterior::shrinkage95() const {
  if (s_ratio.size() == 1) return {s_ratio[0], s_ratio[0]};
  // Mass up to the middle between neighbouring nodes; nodes are far closer together than the interval is
  // wide.
  std::vector<double> edge = {s_ratio.front()}, below = {0};
  for (std::size_t k = 0; k < s_ratio.size(); ++k) {
    double mass = 0;
    for (const Block& b : blocks) mass += b.mass[k];
    edge.push_back(k + 1 < s_ratio.size() ? (s_ratio[k] + s_ratio[k + 1]) / 2 : s_ratio[k]);
    below.push_back(below.back() + mass);
  }
  const auto quantile = [&](double p) {
    const auto at = std::lower_bound(below.begin(), below.end(), p);
    if (at == below.begin()) return edge.front();
    if (at == below.end()) return edge.back();
    const std::size_t i = static_cast<std::size_t>(at - below.begin());
    const double step = below[i] - below[i - 1];
    return edge[i - 1] + (step > 0 ? (p - below[i - 1]) / step : 0) * (edge[i] - edge[i - 1]);
  };
  return {quantile(0.025), quantile(0.975)};
}

FeatureTerms::FeatureTerms(const FeatureModel& feature, std::size_t feature_index,
                           const std::vector<const Posterior*>& posteriors)
    : candidates_{feature.candidates[0].size(), feature.candidates[1].size()} {
  constexpr double kLeastShare = 1e-11;  // of a node: thousands of them come to 1e-8
  const Posterior& nodes = *posteriors.front();
  std::vector<Term> here;
  first_.push_back(0);
  for (std::size_t b = 0; b < nodes.blocks.size(); ++b) {
    const Posterior::Block& block = nodes.blocks[b];
    for (std::size_t k = 0; k < nodes.s_ratio.size(); ++k) {
      const bool matters = std::any_of(posteriors.begin(), posteriors.end(), [&](const Posterior* p) {
        return p->blocks[b].mass[k] >= kLeastNodeMass;
      });
      for (std::size_t r = 0; matters && r < feature.readings.size(); ++r) {
        here.clear();
        const double base = feature.visit_terms(
            block.system, feature.sd_mm[block.level], nodes.s_ratio[k], feature.readings[r],
            [&](std::size_t i, double v) {
              here.push_back({static_cast<std::uint32_t>(i), static_cast<std::uint32_t>(r), v});
            });
        const double scale = std::exp(base - block.log_likelihood[feature_index][k]);
        for (Term& t : here)
          if ((t.share *= scale) > kLeastShare) terms_.push_back(t);
      }
      first_.push_back(terms_.size());
    }
  }
}

std::array<std::vector<double>, 2> FeatureTerms::candidate_probabilities(const Posterior& posterior) const {
  std::array<std::vector<double>, 2> p;
  for (std::size_t i = 0; i < 2; ++i) p[i].assign(candidates_[i], 0);
  spread(posterior, [&](std::size_t b, std::size_t, std::size_t i, std::size_t, double mass) {
    p[posterior.blocks[b].system][i] += mass;
  });
  return p;
}

}  // namespace rondure
