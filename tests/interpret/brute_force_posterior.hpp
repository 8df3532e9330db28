// The posterior of the original sizes by the plainest means, independent of the program's own integral: every
// grid size within reach, the trapezium rule on many equal steps of s, no windows, no panels, no logarithms.
// A feature is round, or brings a density of its own.
#pragma once
#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "rondure/interpret/original.hpp"

namespace brute_force {

struct Feature {
  double size_mm, share;
  std::vector<double> sd_mm;                  // per level of care
  double evidence_mm = 0, u_evidence_mm = 0;  // u 0: none
  std::function<double(double drawn_mm, double s, std::size_t level)> density = {};
  double wider_mm = 0;  // how much further than the scatter the density reaches

  double term(double drawn_mm, double s, std::size_t level) const {
    if (density) return density(drawn_mm, s, level);
    double p = normal((size_mm - drawn_mm * (1 - share * s)) / sd_mm[level]) / sd_mm[level];
    if (u_evidence_mm > 0) p *= normal((drawn_mm - evidence_mm) / u_evidence_mm);
    return p;
  }
  double reach_mm() const { return 12 * *std::max_element(sd_mm.begin(), sd_mm.end()) + wider_mm; }
  static double normal(double z) { return std::exp(-0.5 * z * z); }
};

// Key: system (0 metric, 1 inch) and size in 1e-6 mm.
using Candidates = std::map<std::pair<int, long>, double>;

struct Answer {
  std::vector<Candidates> features;
  double p_metric = 0, mean_shrinkage = 0;
};

// prior(s) need not be scaled; s runs over [lo, hi] in `steps` equal steps.
template <class Prior>
Answer posterior(const std::vector<Feature>& features, const rondure::SizeGrids& grids, double p_metric,
                 const std::vector<double>& level_chance, Prior prior, double lo, double hi, int steps) {
  std::vector<std::map<long, double>> sizes[2];
  for (int system = 0; system < 2; ++system)
    for (const Feature& f : features) {
      std::map<long, double> of;
      const double from = f.size_mm - f.reach_mm(), to = (f.size_mm + f.reach_mm()) / (1 - f.share * hi);
      for (const rondure::SizeGrid& g : system == 0 ? grids.metric : grids.inch)
        for (int n = 1; n * g.step_mm < to + g.step_mm; ++n)
          if (n * g.step_mm > from - g.step_mm) of[std::lround(n * g.step_mm * 1e6)] += g.weight * g.step_mm;
      sizes[system].push_back(std::move(of));
    }
  Answer answer;
  answer.features.resize(features.size());
  double total = 0;
  for (int step = 0; step <= steps; ++step) {
    const double s = lo + (hi - lo) * step / steps;
    for (std::size_t level = 0; level < level_chance.size(); ++level)
      for (int system = 0; system < 2; ++system) {
        std::vector<double> sum(features.size(), 0);
        double product = prior(s) * (step == 0 || step == steps ? 0.5 : 1) * level_chance[level] *
                         (system == 0 ? p_metric : 1 - p_metric);
        for (std::size_t i = 0; i < features.size(); ++i) {
          for (const auto& [micro, w] : sizes[system][i])
            sum[i] += w * features[i].term(static_cast<double>(micro) * 1e-6, s, level);
          product *= sum[i];
        }
        if (!(product > 0)) continue;
        total += product;
        answer.mean_shrinkage += product * s;
        if (system == 0) answer.p_metric += product;
        for (std::size_t i = 0; i < features.size(); ++i)
          for (const auto& [micro, w] : sizes[system][i])
            answer.features[i][{system, micro}] +=
                product / sum[i] * w * features[i].term(static_cast<double>(micro) * 1e-6, s, level);
      }
  }
  answer.mean_shrinkage /= total;
  answer.p_metric /= total;
  for (Candidates& c : answer.features)
    for (auto& [key, p] : c) p /= total;
  return answer;
}

}  // namespace brute_force
