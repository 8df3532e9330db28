#include "designer_habits.hpp"

#include <cmath>
#include <map>

namespace rondure {
namespace {

constexpr double kSameSize_mm = 1e-6;

std::vector<double> prior_weights(const std::vector<SizeGrid>& grids) {
  std::vector<double> weights;
  for (const SizeGrid& g : grids) weights.push_back(g.weight);
  return weights;
}

std::vector<Habit> urn(const std::vector<SizeGrid>& grids, std::size_t system, double chance) {
  const auto prior = prior_weights(grids);
  std::vector<Habit> habits = {{system, chance * kUsualHabit, prior}};
  std::size_t finest = 0;
  for (std::size_t g = 0; g < grids.size(); ++g)
    if (prior[g] > 0 && (!(prior[finest] > 0) || grids[g].step_mm < grids[finest].step_mm)) finest = g;
  std::vector<double> alone(grids.size(), 0);
  alone[finest] = 1;
  habits.push_back({system, chance * kNoHabit, alone});
  const double drawn = chance * (1 - kUsualHabit - kNoHabit);
  for (std::size_t a = 0; a < grids.size(); ++a)
    for (std::size_t b = a; b < grids.size(); ++b) {
      const double of_pair = drawn * (a == b ? 1 : 2) * prior[a] * prior[b];
      if (!(of_pair > 0)) continue;
      Habit h{system, of_pair, prior};
      for (double& w : h.weight) w *= kHabitMix;
      h.weight[a] += (1 - kHabitMix) / 2;
      h.weight[b] += (1 - kHabitMix) / 2;
      habits.push_back(std::move(h));
    }
  return habits;
}

}  // namespace

std::vector<Habit> designer_habits(const SizeGrids& grids, const std::array<double, 2>& system_chance,
                                   bool known) {
  std::vector<Habit> habits;
  for (std::size_t system = 0; system < kSystems.size(); ++system) {
    const auto& of = grids.of(kSystems[system]);
    if (!(system_chance[system] > 0) || of.empty()) continue;
    const auto own = known ? std::vector<Habit>{{system, system_chance[system], prior_weights(of)}}
                           : urn(of, system, system_chance[system]);
    habits.insert(habits.end(), own.begin(), own.end());
  }
  return habits;
}

GridMembers grids_holding(const std::vector<SizeGrid>& grids, const std::vector<GridSize>& sizes) {
  GridMembers members;
  std::map<std::vector<std::size_t>, std::size_t> known;
  for (const GridSize& n : sizes) {
    std::vector<std::size_t> group;
    for (std::size_t g = 0; g < grids.size(); ++g)
      if (std::abs(n.size_mm - std::round(n.size_mm / grids[g].step_mm) * grids[g].step_mm) < kSameSize_mm)
        group.push_back(g);
    const auto [at, is_new] = known.emplace(group, members.groups.size());
    if (is_new) members.groups.push_back(group);
    members.group_of.push_back(at->second);
  }
  return members;
}

}  // namespace rondure
