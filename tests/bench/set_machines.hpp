// Machines drawn at random for the studies of sets: parts of one designer and one batch, as a user would measure them.
#pragma once
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <random>
#include <string>
#include <vector>

#include "interpret/simulated_parts.hpp"
#include "rondure/interpret/original_set.hpp"

namespace set_machines {

using namespace rondure;
using simulated_sizes::draw_size;
using simulated_sizes::sizes_of;
using simulated_sizes::WeightedSizes;

constexpr double kMean = 0.003, kSd = 0.002, kMade_mm = 0.03, kU_mm = 0.005;

inline double quantile(double p) {  // of normal(kMean, kSd) cut off at 0
  const auto cdf = [](double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); };
  const double cut = cdf(-kMean / kSd);
  double lo = -kMean / kSd, hi = 10;
  for (int i = 0; i < 60; ++i) {
    const double middle = (lo + hi) / 2;
    ((cdf(middle) - cut) / (1 - cut) < p ? lo : hi) = middle;
  }
  return kMean + kSd * lo;
}

inline SizeGrids grids(const char* rows) {
  return parse_size_grids("system,grid,step_mm,weight\n" + std::string(rows)).value();
}

// What draws a machine. The designer's grids come anew for every machine.
struct MachineLaw {
  std::string name;
  std::function<SizeGrids(std::mt19937_64&)> designer;
  double likeness = -1;  // of the shrinkages; below 0: drawn from the built-in ones
  bool one_wrong = false;
};

struct Machine {
  std::vector<SetPart> parts;
  std::vector<std::array<long, 2>> drawn;  // outside and width of each part, 1e-6 mm
  std::size_t system = 0;
  SizeGrids grids;  // of its designer
  double likeness = 0;
};

// Draws with the weights of the built-in grids replaced by a Dirichlet law of concentration 1/2 a grid.
inline SizeGrids random_designer(std::mt19937_64& random) {
  SizeGrids own = builtin_size_grids();
  std::gamma_distribution<> gamma(0.5);
  for (auto* grids : {&own.metric, &own.inch}) {
    double sum = 0;
    for (SizeGrid& g : *grids) sum += g.weight = std::max(1e-9, gamma(random));
    for (SizeGrid& g : *grids) g.weight /= sum;
  }
  return own;
}

inline SetPart measured(const std::string& name, const std::array<long, 2>& drawn, double s,
                        std::mt19937_64& random) {
  std::normal_distribution<> normal;
  SetPart part{name, {}, {}};
  const char* names[] = {"outside", "width"};
  const FeatureKind kinds[] = {FeatureKind::kOutside, FeatureKind::kWidth};
  for (std::size_t i = 0; i < 2; ++i) {
    const double mm = static_cast<double>(drawn[i]) * 1e-6;
    part.sizes.push_back({names[i],
                          kinds[i],
                          mm * (1 - s) + kMade_mm * normal(random) + kU_mm * normal(random),
                          kU_mm,
                          kMade_mm,
                          {},
                          0});
  }
  part.options.shrinkage = Estimate{kMean, kSd};
  part.options.least_shown = 1e-9;
  part.options.suggest = false;
  return part;
}

inline Machine draw_machine(const MachineLaw& law, int fewest, int most, std::mt19937_64& random) {
  Machine m;
  std::normal_distribution<> normal;
  const auto uniform = [&](double lo, double hi) { return std::uniform_real_distribution<>(lo, hi)(random); };
  m.grids = law.designer(random);
  const auto sizes = sizes_of(m.grids);
  m.system = uniform(0, 1) < 0.5 ? 0 : 1;
  const double about = uniform(8, 20);
  const long outside = draw_size(sizes[m.system], about, random);
  m.likeness = law.likeness >= 0 ? law.likeness : kShrinkageLikeness[static_cast<std::size_t>(uniform(0, 4))];
  const double batch = normal(random);
  const int parts = std::uniform_int_distribution<>(fewest, most)(random);
  for (int p = 0; p < parts; ++p) {
    const double z = std::sqrt(m.likeness) * batch + std::sqrt(1 - m.likeness) * normal(random);
    long own = outside;
    if (law.one_wrong && p == parts - 1)
      while (own == outside) own = draw_size(sizes[m.system], static_cast<double>(outside) * 1e-6, random);
    m.drawn.push_back({own, draw_size(sizes[m.system], about * uniform(0.4, 0.9), random)});
    m.parts.push_back(measured("p" + std::to_string(p), m.drawn.back(),
                               quantile(0.5 * std::erfc(-z / std::sqrt(2.0))), random));
  }
  return m;
}

inline bool is_drawn(const SizeCandidate& c, long micro, std::size_t system) {
  return std::lround(c.size_mm * 1e6) == micro && (c.system == UnitSystem::kMetric) == (system == 0);
}

inline double log_score(const OriginalFeature& f, long micro, std::size_t system) {
  return std::log(std::max(simulated_sizes::stated_probability(f, micro, system), 1e-12));
}

// What a user tells: which feature is alike in all parts. Nothing of the designer, of the batch, of wrong parts.
inline SetOptions as_told() {
  SetOptions told;
  told.same_drawing = {"outside"};
  told.each_without = false;
  return told;
}

}  // namespace set_machines
