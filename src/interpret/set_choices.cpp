#include "set_choices.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "rondure/core/parallel.hpp"

namespace rondure {
namespace {

constexpr double kLeft_out_nats = 26;  // by the bound, before anything is summed: 5e-12 each
constexpr double kSame_nats = 1e-6;    // two ways to work out one bound: their rounding is far less
// Two parts tied to 1 % come to 31,000 choices and 4 s of processor, to 5 % to 70,000 and 10 s (tie of two idlers, 2026-11).
constexpr std::size_t kMostChoices = 100000;

Error too_many(const SetModel& model, std::size_t drawing) {
  const bool tied = std::ranges::any_of(
      model.ties, [&](const SetModel::Tie& t) { return std::max(t.drawing_a, t.drawing_b) == drawing; });
  return {ErrorCode::kNoAnswer,
          "found more than " + std::to_string(kMostChoices) + " choices of sizes that " +
              (tied ? "the ratio allows, needed a ratio that is known more closely"
                    : "the shared drawings could have, needed fewer of them said to be of the same drawing")};
}

// Prior per mm of every candidate of a drawing, for each habit of the system.
std::vector<std::vector<double>> priors(const SetModel& model, std::size_t system, std::size_t drawing) {
  const auto& grids = model.grids.of(kSystems[system]);
  const auto& sizes = model.drawings[drawing][system];
  const GridMembers members = grids_holding(grids, sizes);
  std::vector<std::vector<double>> all;
  for (std::size_t n = 0; n < sizes.size(); ++n) {
    auto& of_size = all.emplace_back();
    for (const Habit& h : model.habits) {
      if (h.system != system) continue;
      double weight = 0;
      for (const std::size_t g : members.groups[members.group_of[n]])
        weight += h.weight[g] * grids[g].step_mm;
      of_size.push_back(weight);
    }
  }
  return all;
}

// Of the ties that the last of the sizes completes.
double tie_weight(const SetModel& model, std::size_t system, const std::vector<std::size_t>& index) {
  const std::size_t last = index.size() - 1;
  double weight = 1;
  for (const SetModel::Tie& t : model.ties) {
    if (std::max(t.drawing_a, t.drawing_b) != last) continue;
    const double a = model.drawings[t.drawing_a][system][index[t.drawing_a]].size_mm + t.belt_mm;
    const double b = model.drawings[t.drawing_b][system][index[t.drawing_b]].size_mm + t.belt_mm;
    const double z = (a / b - t.ratio.value) / t.ratio.u;
    weight *= z * z > 2 * kLeft_out_nats ? 0 : std::exp(-0.5 * z * z);
  }
  return weight;
}

// The mean of a product is at most that of one factor times the best of all others.
double log_bound_of_parts(const std::vector<PartTable>& tables, std::size_t system,
                          const std::vector<std::size_t>& index) {
  double sum = 0, price = 0;
  for (const PartTable& t : tables) {
    const PartTable::Bounds b = t.log_bounds(system, index);
    sum += b.best;
    price = std::max(price, b.best - b.mean);
  }
  return sum - price;
}

bool single_drawing(const SetModel& model) {
  return model.drawings.size() == 1 && std::ranges::all_of(model.parts, [](const SetModel::Part& p) {
           return std::ranges::count_if(p.drawing, [](const auto& d) { return d.has_value(); }) <= 1;
         });
}

// By the rule of size_choices, from bounds of the bound, and the bound itself of one size.
std::vector<std::size_t> worth_tabulating(const SetModel& model, std::size_t system,
                                          const std::vector<PartTable>& tables) {
  std::vector<double> most;
  for (const auto& of_habits : priors(model, system, 0))
    most.push_back(std::log(*std::max_element(of_habits.begin(), of_habits.end())));
  if (most.empty()) return {};
  const std::vector<double> log_prior = most;
  std::vector<std::vector<double>> of_part(tables.size());
  in_parallel(static_cast<int>(tables.size()), [&](int p) {
    const auto part = static_cast<std::size_t>(p);
    of_part[part] = tables[part].log_most_of_sizes(system, 0);
  });
  for (const auto& of_sizes : of_part)
    for (std::size_t n = 0; n < most.size(); ++n) most[n] += of_sizes[n];
  const auto top = static_cast<std::size_t>(std::max_element(most.begin(), most.end()) - most.begin());
  double bound = log_prior[top], price = 0;
  for (const PartTable& t : tables) {
    const PartTable::Bounds b = t.log_bounds_of_size(system, 0, top);
    bound += b.best;
    price = std::max(price, b.best - b.mean);
  }
  std::vector<std::size_t> worth;
  for (std::size_t n = 0; n < most.size(); ++n)
    if (!(most[n] < bound - price - kLeft_out_nats - kSame_nats)) worth.push_back(n);
  return worth;
}

}  // namespace

WorthTabulating sizes_worth_tabulating(const SetModel& model, const std::vector<PartTable>& tables) {
  WorthTabulating worth(model.drawings.size());
  const bool by_bounds = single_drawing(model);
  for (std::size_t d = 0; d < worth.size(); ++d)
    for (std::size_t system = 0; system < 2; ++system) {
      if (std::ranges::none_of(model.habits, [&](const Habit& h) { return h.system == system; })) continue;
      if (by_bounds) {
        worth[d][system] = worth_tabulating(model, system, tables);
      } else {
        worth[d][system].resize(model.drawings[d][system].size());
        std::iota(worth[d][system].begin(), worth[d][system].end(), 0);
      }
    }
  return worth;
}

Result<std::vector<SizeChoice>> size_choices(const SetModel& model, std::size_t system,
                                             const std::vector<PartTable>& tables) {
  std::size_t habits = 0;
  for (const Habit& h : model.habits) habits += h.system == system;
  std::vector<SizeChoice> kept = {{{}, std::vector<double>(habits, 1), 0}};
  for (std::size_t d = 0; d < model.drawings.size(); ++d) {
    const auto prior = priors(model, system, d);
    std::vector<SizeChoice> longer;
    double best = -INFINITY;
    const auto leave_out_unlikely = [&] {
      std::erase_if(longer, [&](const SizeChoice& c) { return c.log_bound < best - kLeft_out_nats; });
    };
    for (const SizeChoice& c : kept)
      for (std::size_t n = 0; n < prior.size(); ++n) {
        SizeChoice next = c;
        next.index.push_back(n);
        const double tied = tie_weight(model, system, next.index);
        for (std::size_t h = 0; h < habits; ++h) next.prior[h] *= prior[n][h] * tied;
        const double most = *std::max_element(next.prior.begin(), next.prior.end());
        if (!(most > 0)) continue;
        next.log_bound = std::log(most) + log_bound_of_parts(tables, system, next.index);
        if (!std::isfinite(next.log_bound) || next.log_bound < best - kLeft_out_nats) continue;
        best = std::max(best, next.log_bound);
        longer.push_back(std::move(next));
        if (longer.size() > 2 * kMostChoices) {
          leave_out_unlikely();
          if (longer.size() > kMostChoices) return too_many(model, d);
        }
      }
    leave_out_unlikely();
    kept = std::move(longer);
    if (kept.size() > kMostChoices) return too_many(model, d);
  }
  std::sort(kept.begin(), kept.end(),
            [](const SizeChoice& a, const SizeChoice& b) { return a.log_bound > b.log_bound; });
  return kept;
}

}  // namespace rondure
