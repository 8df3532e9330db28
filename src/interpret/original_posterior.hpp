// The integral over the shrinkage behind infer_original: see the model in rondure/interpret/original.hpp.
#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "feature_model.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct PartModel {
  std::vector<FeatureModel> features;
  std::array<double, 2> system_chance = {0.5, 0.5};
  std::vector<double> level_chance = {1};
  ShrinkageLaw law;
  std::optional<Estimate> shrinkage_reading;  // told directly, by a crack gap; u > 0
  double panel_scale = 1;
};

// `precision` plus that in s (1/width^2) of the product of all features' terms at its narrowest.
double with_precision_of_features(double precision, const PartModel& model);

// Nodes of the integral with the posterior mass at each, for every system and level. The masses sum to 1.
struct Posterior {
  std::vector<double> s_ratio, log_weight;  // log_weight: of the rule and the prior of s
  struct Block {
    std::size_t system = 0, level = 0;
    double log_chance = 0;                            // prior, of system and level
    std::vector<double> mass;                         // per node
    std::vector<std::vector<double>> log_likelihood;  // per feature, per node
  };
  std::vector<Block> blocks;
  double log_evidence = 0;

  double system_probability(std::size_t system) const;
  double level_probability(std::size_t level) const;
  double mean_shrinkage() const;
  double sd_shrinkage() const;
  Interval shrinkage95() const;  // equal tails
  // What the other features alone say, on the same nodes. Nothing for an only feature.
  std::optional<Posterior> without(std::size_t feature_index) const;
};

// Masses from the logarithms that lie in them; false when nothing is left.
bool normalise(Posterior& posterior);

// Errors: kNoAnswer.
Result<Posterior> integrate(const PartModel& model);

inline constexpr double kLeastNodeMass = 1e-10;  // nodes below it are not spread over the candidates

// The terms of one feature at every node that matters to one of the posteriors, which share their nodes:
// evaluated once, spread over each of them as often as needed.
class FeatureTerms {
public:
  FeatureTerms(const FeatureModel& feature, std::size_t feature_index,
               const std::vector<const Posterior*>& posteriors);
  // Calls visit(block index, node, candidate index, reading index, probability mass).
  template <class Visit>
  void spread(const Posterior& posterior, Visit visit) const;
  // Posterior of each candidate, per system.
  std::array<std::vector<double>, 2> candidate_probabilities(const Posterior& posterior) const;

private:
  struct Term {
    std::uint32_t candidate, reading;
    double share;  // of the mass at the node
  };
  std::array<std::size_t, 2> candidates_;
  std::vector<std::size_t> first_;  // of the terms of a node; nodes run fastest, then blocks
  std::vector<Term> terms_;
};

// --- template bodies

template <class Visit>
void FeatureTerms::spread(const Posterior& posterior, Visit visit) const {
  std::size_t at = 0;
  for (std::size_t b = 0; b < posterior.blocks.size(); ++b)
    for (std::size_t k = 0; k < posterior.s_ratio.size(); ++k, ++at) {
      const double mass = posterior.blocks[b].mass[k];
      if (mass < kLeastNodeMass) continue;
      for (std::size_t t = first_[at]; t < first_[at + 1]; ++t)
        visit(b, k, std::size_t{terms_[t].candidate}, std::size_t{terms_[t].reading}, mass * terms_[t].share);
    }
}

}  // namespace rondure
