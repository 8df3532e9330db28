#include "designer_habits.hpp"

#include <cmath>
#include <map>
#include <numeric>

namespace rondure {
namespace {

constexpr std::size_t kMostGridsOfThree = 12;  // beyond, two drawings: the habits would be too many

std::vector<double> prior_weights(const std::vector<SizeGrid>& grids) {
  std::vector<double> weights;
  for (const SizeGrid& g : grids) weights.push_back(g.weight);
  return weights;
}

double rising(double from, int times) {  // from (from + 1) ...
  double product = 1;
  for (int i = 0; i < times; ++i) product *= from + i;
  return product;
}

// How often each of `kinds` is drawn, with its chance, for every outcome of so many drawings.
struct Outcome {
  std::vector<int> drawn;
  double chance;
};
std::vector<Outcome> outcomes(std::size_t kinds, int drawings) {
  std::vector<Outcome> all = {
      {{}, rising(1, drawings) / rising(kUrnGrain * static_cast<double>(kinds), drawings)}};
  for (std::size_t kind = 0; kind < kinds; ++kind) {
    std::vector<Outcome> longer;
    for (const Outcome& o : all) {
      const int left = drawings - std::accumulate(o.drawn.begin(), o.drawn.end(), 0);
      for (int n = kind + 1 == kinds ? left : 0; n <= left; ++n) {
        longer.push_back({o.drawn, o.chance * rising(kUrnGrain, n) / rising(1, n)});
        longer.back().drawn.push_back(n);
      }
    }
    all = std::move(longer);
  }
  return all;
}

Habit mixed_with(const std::vector<double>& prior, double mix, std::size_t system, double chance) {
  Habit h{system, chance, prior, false};
  for (double& w : h.weight) w *= mix;
  return h;
}

// Two grids drawn by these chances, with replacement.
void add_pairs(const std::vector<double>& drawn, const std::vector<double>& prior, std::size_t system,
               double chance, std::vector<Habit>& habits) {
  for (std::size_t a = 0; a < drawn.size(); ++a)
    for (std::size_t b = a; b < drawn.size(); ++b) {
      const double of_pair = chance * (a == b ? 1 : 2) * drawn[a] * drawn[b];
      if (!(of_pair > 0)) continue;
      habits.push_back(mixed_with(prior, kPairMix, system, of_pair));
      habits.back().weight[a] += (1 - kPairMix) / 2;
      habits.back().weight[b] += (1 - kPairMix) / 2;
    }
}

// A main step and a second, in either order, all pairs alike.
void add_main_steps(const std::vector<std::size_t>& of, const std::vector<double>& prior, std::size_t system,
                    double chance, std::vector<Habit>& habits) {
  const double of_pair = chance / static_cast<double>(of.size() * (of.size() - 1));
  for (const std::size_t main : of)
    for (const std::size_t second : of) {
      if (main == second) continue;
      habits.push_back(mixed_with(prior, kUrnMix, system, of_pair));
      habits.back().weight[main] += (1 - kUrnMix) * kMainShare;
      habits.back().weight[second] += (1 - kUrnMix) * (1 - kMainShare);
    }
}

void add_urn(const std::vector<std::size_t>& in_urn, const std::vector<double>& prior, std::size_t system,
             double chance, std::vector<Habit>& habits) {
  const int drawings = in_urn.size() <= kMostGridsOfThree ? 3 : 2;
  for (const Outcome& o : outcomes(in_urn.size(), drawings)) {
    habits.push_back(mixed_with(prior, kUrnMix, system, chance * o.chance));
    for (std::size_t i = 0; i < in_urn.size(); ++i)
      habits.back().weight[in_urn[i]] += (1 - kUrnMix) * o.drawn[i] / drawings;
  }
}

// By which the pairs are drawn, so that the mean of all habits is the prior again, as far as that can be.
std::vector<double> making_up(const std::vector<double>& prior, const std::vector<std::size_t>& in_urn,
                              std::size_t finest, double of_few, double of_pairs) {
  std::vector<double> drawn(prior.size());
  for (std::size_t g = 0; g < prior.size(); ++g)
    drawn[g] = (1 - kUsualHabit - of_few * kUrnMix - of_pairs * kPairMix) * prior[g];
  drawn[finest] -= kNoHabit;
  for (const std::size_t g : in_urn) drawn[g] -= of_few * (1 - kUrnMix) / static_cast<double>(in_urn.size());
  for (double& d : drawn) d = std::max(d, 0.0);
  const double sum = std::accumulate(drawn.begin(), drawn.end(), 0.0);
  if (!(sum > 0)) return prior;
  for (double& d : drawn) d /= sum;
  return drawn;
}

std::vector<Habit> habits_of_any(const std::vector<SizeGrid>& grids, std::size_t system, double chance) {
  const auto prior = prior_weights(grids);
  std::size_t finest = 0;
  for (std::size_t g = 0; g < grids.size(); ++g)
    if (prior[g] > 0 && (grids[g].step_mm < grids[finest].step_mm || !(prior[finest] > 0))) finest = g;
  std::vector<std::size_t> in_urn;
  for (std::size_t g = 0; g < grids.size(); ++g)
    if (prior[g] > 0 && g != finest) in_urn.push_back(g);
  if (in_urn.empty()) return {{system, chance, prior, false}};
  std::vector<double> alone(grids.size(), 0);
  alone[finest] = 1;
  std::vector<Habit> habits = {{system, chance * kUsualHabit, prior, false},
                               {system, chance * kNoHabit, alone, true}};
  const double of_main = in_urn.size() > 1 ? kMainHabit : 0, of_few = of_main + kUrnHabit,
               of_pairs = 1 - kUsualHabit - kNoHabit - of_few;
  add_pairs(making_up(prior, in_urn, finest, of_few, of_pairs), prior, system, chance * of_pairs, habits);
  if (of_main > 0) add_main_steps(in_urn, prior, system, chance * of_main, habits);
  add_urn(in_urn, prior, system, chance * kUrnHabit, habits);
  return habits;
}

}  // namespace

std::vector<Habit> designer_habits(const SizeGrids& grids, const std::array<double, 2>& system_chance,
                                   bool known) {
  std::vector<Habit> habits;
  for (std::size_t system = 0; system < kSystems.size(); ++system) {
    const auto& of = grids.of(kSystems[system]);
    if (!(system_chance[system] > 0) || of.empty()) continue;
    const auto own = known ? std::vector<Habit>{{system, system_chance[system], prior_weights(of), false}}
                           : habits_of_any(of, system, system_chance[system]);
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
