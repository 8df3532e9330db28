// The habits of the designer of a machine: which grids he drew his sizes on, one habit for all parts of the machine.
//
// Model: with chance
//   kUsualHabit  he draws as the prior grids say
//   kNoHabit     on the finest grid alone, every size of it alike
//   kMainHabit   on a main step and a second one, any two of the grids but the finest, whatever the prior says:
//                weight = (1 - kUrnMix) (kMainShare of the main, the rest of the second) + kUrnMix * prior weight
//   kUrnHabit    on grids drawn from an urn, three times, that holds kUrnGrain of a ball for each grid but the finest
//                and gets one more of the kind drawn (Polya's urn), whatever the prior says:
//                weight = (1 - kUrnMix) (1/3 for each time it was drawn) + kUrnMix * prior weight
//   else         on two grids (or one, drawn twice) by chances that make up for the others, so that the mean of all habits
//                is the prior as far as can be: one size by itself is told next to nothing new.
//                weight = (1 - kPairMix) (1/2 for each time it was drawn) + kPairMix * prior weight
// What the habits add is that one size tells of the next. By the urn every designer finds a habit near his own; with a whole ball
// all outcomes of the drawings are alike (Laplace's rule of succession). Most offices draw on one step where they can and on
// a second where they must: for them the main steps, 30 habits, cost less than the urn's many. What a designer of chance c
// costs is at most ln(1/c) in all, shared by the sizes of the machine: a designer who draws as the prior says is the one that
// is told of most, so that who has him loses 0.02 nat a size. The chance of no habit trades against all others: on simulated
// machines that were drawn for it, 0.03 instead of 0.02 cost designers of few grids 0.02 nat and spared those of none 0.2.
// Within those 0.02 no mixture of such habits was found by descent that leaves a designer on two grids of any below 0.29
// (these: 0.34) or of weights by chance below 0.22 (0.24); tests/bench/study_original_set_bound.cpp has what no prior can
// reach. The chances are judgement, weighed on simulated machines; no source.
#pragma once
#include <array>
#include <vector>

#include "rondure/interpret/size_grids.hpp"

namespace rondure {

inline constexpr std::array kSystems = {UnitSystem::kMetric, UnitSystem::kInch};

// Chances and mixtures, see above: judgement, weighed on simulated machines and checked by
// tests/bench/study_original_set against what study_original_set_bound allows.
inline constexpr double kUsualHabit = 0.67, kNoHabit = 0.02, kMainHabit = 0.12, kMainShare = 0.75,
                        kUrnHabit = 0.12, kUrnGrain = 1, kUrnMix = 0.02, kPairMix = 0.1;

struct Habit {
  std::size_t system = 0;      // index of kSystems
  double chance = 0;           // before anything is measured, that of the unit system in it
  std::vector<double> weight;  // of each grid of the system; they sum to 1
  bool none = false;           // that of no habit
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
