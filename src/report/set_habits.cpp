#include "set_habits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>

namespace rondure {
namespace {

constexpr double kShareWorthSaying = 0.1;  // of the sizes: less is no habit; by judgement

}  // namespace

std::string habit_words(const SetResult& set) {
  const UnitSystem system = set.p_metric >= 0.5 ? UnitSystem::kMetric : UnitSystem::kInch;
  std::vector<GridUse> used;
  for (const GridUse& g : set.habits)
    if (g.system == system && g.share >= kShareWorthSaying) used.push_back(g);
  std::ranges::sort(used, std::greater{}, &GridUse::share);
  std::string words;
  for (const GridUse& g : used)
    words += fmt::format("{}{} {:.0f} %", words.empty() ? "" : ", ", g.grid, 100 * g.share);
  return words;
}

}  // namespace rondure
