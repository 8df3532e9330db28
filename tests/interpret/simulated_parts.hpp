// Simulated old parts for judging the inference: drawn on grids, moulded, shrunk on their shaft, measured.
// And the exact Bayesian answer of somebody who knows the law that drew them (not the draw), by plain
// summation.
#pragma once
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <random>
#include <string>
#include <vector>

#include "rondure/interpret/original.hpp"
#include "rondure/interpret/ring_on_shaft.hpp"

namespace simulated_sizes {

using rondure::Estimate;
using rondure::OriginalFeature;
using rondure::SizeCandidate;
using rondure::SizeGrids;
using rondure::SizeObservation;
using rondure::UnitSystem;

// Sizes of one system with their prior weight per mm, ascending; key in 1e-6 mm.
using WeightedSizes = std::map<long, double>;

// The law that draws a part.
struct Law {
  std::string name;
  std::array<WeightedSizes, 2> sizes;  // metric, inch, 0.5 to 40 mm
  double p_metric = 0.5;
  double mean_shrinkage = 0.003, sd_shrinkage = 0.002;  // normal, cut off at 0
  std::string true_material = "POM-C";                  // for the making scatter
  int level = -1;                // of care in making; -1: at random by the levels' chances; -2: stated below
  double stated_made_mm = 0.03;  // level -2
};

inline std::array<WeightedSizes, 2> sizes_of(const SizeGrids& grids) {
  std::array<WeightedSizes, 2> out;
  for (int system = 0; system < 2; ++system)
    for (const auto& n : rondure::sizes_between(system == 0 ? grids.metric : grids.inch, 0.5, 40))
      out[static_cast<std::size_t>(system)][std::lround(n.size_mm * 1e6)] = n.prior_weight;
  return out;
}

struct Part {
  std::vector<SizeObservation> seen;
  std::vector<long> true_size;  // 1e-6 mm
  std::vector<double> share;
  std::vector<std::vector<double>> sd_mm;  // per level that the law may draw
  std::vector<double> level_chance;
  std::size_t system = 0;
};

// A size near `about`, by the weights of the law.
inline long draw_size(const WeightedSizes& sizes, double about_mm, std::mt19937_64& random) {
  const auto first = sizes.lower_bound(std::lround(about_mm * 0.9e6)),
             last = sizes.upper_bound(std::lround(about_mm * 1.1e6));
  double total = 0;
  for (auto i = first; i != last; ++i) total += i->second;
  double at = std::uniform_real_distribution<>(0, total)(random);
  for (auto i = first; i != last; ++i)
    if ((at -= i->second) <= 0) return i->first;
  return std::prev(last)->first;
}

inline double draw_shrinkage(const Law& law, std::mt19937_64& random) {
  std::normal_distribution<> normal(law.mean_shrinkage, law.sd_shrinkage);
  for (;;)
    if (const double s = normal(random); s >= 0) return s;
}

// Outside on its shaft's bore, a width, a hub; every third part also offers the metal shaft. `told_making`:
// the scatter of the making stands in the sizes file.
inline Part draw_part(const Law& law, bool told_making, std::mt19937_64& random) {
  Part part;
  part.system = std::uniform_real_distribution<>(0, 1)(random) < law.p_metric ? 0 : 1;
  const auto material = rondure::find_ageing_material(law.true_material);
  std::size_t level = 0;
  if (law.level >= 0) level = static_cast<std::size_t>(law.level);
  if (law.level == -1) {
    double at = std::uniform_real_distribution<>(0, 1)(random);
    while (level + 1 < material.levels.size() && (at -= material.levels[level].chance) > 0) ++level;
  }
  const double s = draw_shrinkage(law, random);
  const double outside = std::uniform_real_distribution<>(8, 25)(random);
  struct Plan {
    const char* name;
    rondure::FeatureKind kind;
    double about_mm;
  };
  std::vector<Plan> plans = {
      {"outside", "outside", outside},
      {"bore", "bore-on-metal", outside * std::uniform_real_distribution<>(0.2, 0.4)(random)},
      {"width", "width", outside * std::uniform_real_distribution<>(0.4, 1.0)(random)},
      {"recess", "bore", outside * std::uniform_real_distribution<>(0.5, 0.8)(random)}};
  if (std::uniform_int_distribution<>(0, 2)(random) == 0)
    plans.push_back({"pin", "metal", outside * std::uniform_real_distribution<>(0.15, 0.3)(random)});
  std::normal_distribution<> normal;
  const auto making = [&](const Plan& plan, std::size_t at_level) {
    if (!plan.kind.shrinks_with_the_plastic()) return rondure::metal_sd_mm(plan.about_mm);
    if (law.level == -2) return law.stated_made_mm;
    return rondure::moulding_sd_mm(material, material.levels[at_level], plan.about_mm,
                                   plan.kind == rondure::FeatureKind::kWidth);
  };
  part.level_chance = {1};
  if (law.level == -1) {
    part.level_chance.clear();
    for (const auto& l : material.levels) part.level_chance.push_back(l.chance);
  }
  double bore_mm = 0;
  for (const Plan& plan : plans) {
    part.true_size.push_back(draw_size(law.sizes[part.system], plan.about_mm, random));
    if (plan.kind == rondure::FeatureKind::kBoreOnMetal)
      bore_mm = static_cast<double>(part.true_size.back()) * 1e-6;
  }
  for (std::size_t i = 0; i < plans.size(); ++i) {
    const double n = static_cast<double>(part.true_size[i]) * 1e-6, u = 0.005, made = making(plans[i], level);
    const rondure::FeatureKind kind = plans[i].kind;
    const double share = !kind.shrinks_with_the_plastic() ? 0
                         : kind == rondure::FeatureKind::kOutside
                             ? rondure::held_ring_outer_share(bore_mm / n, material.poisson_ratio)
                             : 1;
    SizeObservation o{
        plans[i].name, kind, n * (1 - share * s) + made * normal(random) + u * normal(random), u, {}, {}, 0};
    if (told_making) o.u_made_mm = made;
    part.seen.push_back(o);
    part.share.push_back(share);
    part.sd_mm.emplace_back();
    for (std::size_t l = 0; l < part.level_chance.size(); ++l)
      part.sd_mm.back().push_back(std::hypot(making(plans[i], law.level == -1 ? l : level), u));
  }
  return part;
}

// ln P(true size of each feature | everything seen, law, making scatter of this part) by Simpson's rule over
// s.
inline std::vector<double> exact_log_scores(const Law& law, const Part& part) {
  const int steps = 80;
  const double lo = std::max(0.0, law.mean_shrinkage - 6 * law.sd_shrinkage),
               hi = law.mean_shrinkage + 6 * law.sd_shrinkage;
  const std::size_t n = part.seen.size();
  double total = 0;
  std::vector<double> hit(n, 0), sum(n), own(n);
  for (int step = 0; step <= steps; ++step) {
    const double s = lo + (hi - lo) * step / steps, z = (s - law.mean_shrinkage) / law.sd_shrinkage;
    const double weight = std::exp(-0.5 * z * z) * (step == 0 || step == steps ? 1 : step % 2 == 1 ? 4 : 2);
    for (std::size_t block = 0; block < 2 * part.level_chance.size(); ++block) {
      const std::size_t system = block % 2, level = block / 2;
      double product = weight * part.level_chance[level] * (system == 0 ? law.p_metric : 1 - law.p_metric);
      for (std::size_t i = 0; i < n; ++i) {
        const double kept = 1 - part.share[i] * s, centre = part.seen[i].size_mm / kept,
                     sd = part.sd_mm[i][level] / kept;
        const auto term = [&](long micro, double w) {
          const double d = (static_cast<double>(micro) * 1e-6 - centre) / sd;
          return w * std::exp(-0.5 * d * d) / (sd * kept);
        };
        const auto& sizes = law.sizes[system];
        sum[i] = own[i] = 0;
        const auto last = sizes.upper_bound(std::lround((centre + 6.5 * sd) * 1e6));
        for (auto c = sizes.lower_bound(std::lround((centre - 6.5 * sd) * 1e6)); c != last; ++c)
          sum[i] += term(c->first, c->second);
        if (system == part.system) own[i] = term(part.true_size[i], sizes.at(part.true_size[i]));
        product *= sum[i];
      }
      if (!(product > 0)) continue;
      total += product;
      for (std::size_t i = 0; i < n; ++i) hit[i] += product / sum[i] * own[i];
    }
  }
  for (double& h : hit) h = std::log(std::max(h / total, 1e-300));
  return hit;
}

inline double stated_probability(const OriginalFeature& f, long true_micro, std::size_t system) {
  for (const SizeCandidate& c : f.candidates)
    if (std::lround(c.size_mm * 1e6) == true_micro && (c.system == UnitSystem::kMetric) == (system == 0))
      return c.probability;
  return 1e-12;
}

// How often stated probabilities came true, by tenths.
struct Reliability {
  std::array<double, 10> stated{}, came_true{};
  std::array<int, 10> answers{};
  void add(double p, bool hit) {
    const auto bin = std::min<std::size_t>(9, static_cast<std::size_t>(p * 10));
    ++answers[bin];
    stated[bin] += p;
    came_true[bin] += hit ? 1 : 0;
  }
  // Largest difference in a tenth that holds at least this many answers.
  double worst(int least_answers) const {
    double w = 0;
    for (std::size_t i = 0; i < 10; ++i)
      if (answers[i] >= least_answers) w = std::max(w, std::abs(stated[i] - came_true[i]) / answers[i]);
    return w;
  }
};

struct Outcome {
  Reliability all_candidates, best_answers;
  double log_score = 0, exact_log_score = 0;        // means over features
  double outside_log_score = 0, outside_exact = 0;  // of the outside alone
  double worst_feature_gap = 0;
  double decided = 0, decided_right = 0, outside_decided = 0;  // shares
  int parts = 0, features = 0;
};

// Draws parts by the law, asks the program with `options`, scores the answers against the truth and the exact
// answer.
inline Outcome judge(const Law& law, const rondure::OriginalOptions& options, bool told_making, int parts,
                     unsigned seed) {
  std::mt19937_64 random(seed);
  Outcome out;
  rondure::OriginalOptions quick = options;
  quick.suggest = false;
  quick.least_shown = 1e-9;
  for (int p = 0; p < parts; ++p) {
    const Part part = draw_part(law, told_making, random);
    const auto result = rondure::infer_original(part.seen, quick);
    if (!result) continue;
    const auto exact = exact_log_scores(law, part);
    ++out.parts;
    for (std::size_t i = 0; i < part.seen.size(); ++i) {
      const OriginalFeature& f = result->features[i];
      const double score = std::log(stated_probability(f, part.true_size[i], part.system));
      out.log_score += score;
      out.exact_log_score += exact[i];
      out.worst_feature_gap = std::max(out.worst_feature_gap, std::abs(score - exact[i]));
      ++out.features;
      if (i == 0) out.outside_log_score += score, out.outside_exact += exact[i];
      for (std::size_t c = 0; c < f.candidates.size(); ++c) {
        const auto& k = f.candidates[c];
        const bool hit = std::lround(k.size_mm * 1e6) == part.true_size[i] &&
                         (k.system == UnitSystem::kMetric) == (part.system == 0);
        if (k.probability >= 0.005) out.all_candidates.add(k.probability, hit);
        if (c == 0) out.best_answers.add(k.probability, hit);
        if (c == 0 && !f.undecided) ++out.decided, out.decided_right += hit;
      }
      if (i == 0 && !f.undecided) ++out.outside_decided;
    }
  }
  out.decided_right /= std::max(1.0, out.decided);
  out.decided /= out.features;
  out.outside_decided /= out.parts;
  out.log_score /= out.features;
  out.exact_log_score /= out.features;
  out.outside_log_score /= out.parts;
  out.outside_exact /= out.parts;
  return out;
}

}  // namespace simulated_sizes
