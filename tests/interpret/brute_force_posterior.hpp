// The posterior of the original sizes by the plainest means, independent of the program's own integral: every
// grid size within reach, the trapezium rule on many equal steps of s, no windows, no panels, no logarithms.
// For round features.
#pragma once
#include <cmath>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "rondure/interpret/original.hpp"

namespace brute_force {

struct Feature {
  double size_mm, share, sd_mm;
};

// Key: system (0 metric, 1 inch) and size in 1e-6 mm.
using Candidates = std::map<std::pair<int, long>, double>;

struct Answer {
  std::vector<Candidates> features;
  double p_metric = 0, mean_shrinkage = 0;
};

inline double normal(double z) { return std::exp(-0.5 * z * z); }

// prior(s) need not be scaled; s runs over [lo, hi] in `steps` equal steps.
template <class Prior>
Answer posterior(const std::vector<Feature>& features, const rondure::SizeGrids& grids, double p_metric,
                 Prior prior, double lo, double hi, int steps) {
  std::vector<std::map<long, double>> sizes[2];
  for (int system = 0; system < 2; ++system)
    for (const Feature& f : features) {
      std::map<long, double> of;
      for (const rondure::SizeGrid& g : system == 0 ? grids.metric : grids.inch)
        for (int n = 1; n * g.step_mm < (f.size_mm + 12 * f.sd_mm) / (1 - f.share * hi) + g.step_mm; ++n)
          if (n * g.step_mm > f.size_mm - 12 * f.sd_mm - g.step_mm)
            of[std::lround(n * g.step_mm * 1e6)] += g.weight * g.step_mm;
      sizes[system].push_back(std::move(of));
    }
  Answer answer;
  answer.features.resize(features.size());
  double total = 0;
  for (int step = 0; step <= steps; ++step) {
    const double s = lo + (hi - lo) * step / steps;
    const double weight = prior(s) * (step == 0 || step == steps ? 0.5 : 1);
    for (int system = 0; system < 2; ++system) {
      std::vector<double> sum(features.size(), 0);
      double product = weight * (system == 0 ? p_metric : 1 - p_metric);
      for (std::size_t i = 0; i < features.size(); ++i) {
        for (const auto& [micro, w] : sizes[system][i])
          sum[i] +=
              w *
              normal((features[i].size_mm - static_cast<double>(micro) * 1e-6 * (1 - features[i].share * s)) /
                     features[i].sd_mm);
        product *= sum[i];
      }
      if (!(product > 0)) continue;
      total += product;
      answer.mean_shrinkage += product * s;
      if (system == 0) answer.p_metric += product;
      for (std::size_t i = 0; i < features.size(); ++i)
        for (const auto& [micro, w] : sizes[system][i])
          answer.features[i][{system, micro}] +=
              product / sum[i] * w *
              normal((features[i].size_mm - static_cast<double>(micro) * 1e-6 * (1 - features[i].share * s)) /
                     features[i].sd_mm);
    }
  }
  answer.mean_shrinkage /= total;
  answer.p_metric /= total;
  for (Candidates& c : answer.features)
    for (auto& [key, p] : c) p /= total;
  return answer;
}

}  // namespace brute_force
