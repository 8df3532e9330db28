// The habits of the designer of a machine: which grids he drew his sizes on, one habit for all parts of the machine.
//
// Model: an urn. With chance kUsualHabit he draws as the prior grids say; with kNoHabit on the finest grid alone,
// every size of it alike; else two grids are drawn from the prior weights, with replacement, and these are his own:
//   weight of a grid = (1 - kHabitMix) (1/2 for each time it was drawn) + kHabitMix * prior weight
// The mean of the urn is the prior: a single size, asked by itself, is told nothing new (but for kNoHabit). What the
// urn adds is that one size tells of the next. The spread of the weights is that of a Dirichlet law of concentration 1.
// All of it is judgement, without a source; src/data/size_grid_prior.csv is the mean.
#pragma once
#include <array>
#include <vector>

#include "rondure/interpret/size_grids.hpp"

namespace rondure {

inline constexpr std::array kSystems = {UnitSystem::kMetric, UnitSystem::kInch};

inline constexpr double kUsualHabit = 0.2, kNoHabit = 0.02, kHabitMix = 0.1;

struct Habit {
  std::size_t system = 0;      // index of kSystems
  double chance = 0;           // before anything is measured, that of the unit system in it
  std::vector<double> weight;  // of each grid of the system; they sum to 1
};

// Metric habits first. `known`: the grids' weights are the habits of this designer, one habit a system.
std::vector<Habit> designer_habits(const SizeGrids& grids, const std::array<double, 2>& system_chance,
                                   bool known);

// Which grids hold each of many sizes: few different groups of grids.
struct GridMembers {
  std::vector<std::vector<std::size_t>> groups;  // indices of grids
  std::vector<std::size_t> group_of;             // per size
};
GridMembers grids_holding(const std::vector<SizeGrid>& grids, const std::vector<GridSize>& sizes);

}  // namespace rondure
