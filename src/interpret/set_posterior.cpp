#include "set_posterior.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "rondure/core/parallel.hpp"
#include "set_system_sum.hpp"

namespace rondure {
namespace {

SetMasses no_masses(const SetModel& model, const SetBatches& batches, const std::vector<PartTable>& tables) {
  SetMasses masses;
  for (std::size_t p = 0; p < tables.size(); ++p) {
    masses.all.push_back(tables[p].no_mass());
    masses.odd.push_back(tables[p].no_mass());
    auto& drawn = masses.drawn.emplace_back(model.parts[p].model.features.size());
    for (std::size_t i = 0; i < drawn.size(); ++i)
      if (const auto d = model.parts[p].drawing[i])
        for (std::size_t s = 0; s < 2; ++s) drawn[i][s].assign(model.drawings[*d][s].size(), 0);
  }
  masses.p_other_drawing.assign(tables.size(), 0);
  masses.p_stranger.assign(tables.size(), 0);
  masses.p_worn.assign(tables.size(), 0);
  for (const BatchRule& rule : batches.rules) masses.further.emplace_back(rule.rows().size(), 0.0);
  return masses;
}

void scale(PartMasses& masses, double factor) {
  for (auto& of_system : masses)
    for (HabitTable& level : of_system) level = (factor * level).max(0.0);
}

// Of each habit of the model; the masses are those of the kept ones.
std::vector<double> habit_probabilities(const SetModel& model, const KeptHabits& kept,
                                        const SetMasses& masses) {
  std::array<std::vector<double>, 2> of_system;
  for (std::size_t system = 0; system < 2; ++system)
    for (std::size_t i = 0; i < kept[system].size() && masses.habit[system].size() > 0; ++i) {
      const auto h = static_cast<std::size_t>(kept[system][i]);
      of_system[system].resize(std::max(of_system[system].size(), h + 1), 0);
      of_system[system][h] = std::max(0.0, masses.habit[system][static_cast<Eigen::Index>(i)] / masses.total);
    }
  std::vector<double> p;
  std::array<std::size_t, 2> next{};
  for (const Habit& habit : model.habits) {
    const std::size_t h = next[habit.system]++;
    p.push_back(h < of_system[habit.system].size() ? of_system[habit.system][h] : 0);
  }
  return p;
}

// `table`: with all habits; `narrow`: with those that the masses are of.
SetPosterior::Part part_of(const SetModel& model, const PartTable& table, const PartTable& narrow,
                           std::size_t p, SetMasses& masses) {
  SetPosterior::Part part;
  part.p_other_drawing = masses.p_other_drawing[p] / masses.total;
  part.p_stranger = masses.p_stranger[p] / masses.total;
  part.p_worn = masses.p_worn[p] / masses.total;
  const PartMasses stranger = table.stranger(part.p_stranger);
  scale(masses.all[p], 1 / masses.total);
  scale(masses.odd[p], 1 / masses.total);
  part.all = table.posterior(masses.all[p], stranger);
  part.drawn = std::move(masses.drawn[p]);
  for (std::size_t i = 0; i < part.drawn.size(); ++i) {
    const PartMasses& own = model.parts[p].drawing[i] ? masses.odd[p] : masses.all[p];
    part.own.push_back(table.spread(i, narrow, own, stranger));
    for (auto& of_system : part.drawn[i])
      for (double& m : of_system) m /= masses.total;
  }
  return part;
}

SetPosterior::Batch further_part(const SetModel& model, const SetBatches& batches, std::size_t b,
                                 const SetMasses& masses) {
  SetPosterior::Batch batch;
  if (b == SIZE_MAX) return batch;
  const BatchRule& rule = batches.rules[b];
  auto mass = masses.further[b];
  for (std::size_t j = 0; j < mass.size(); ++j) {
    mass[j] = std::max(0.0, mass[j] / masses.total);
    batch.likeness += mass[j] * model.likeness[rule.rows()[j].likeness];
  }
  batch.s_ratio = batches.s_ratio[b];
  batch.mass = rule.project_back(mass);
  return batch;
}

}  // namespace

bool SetModel::Part::shares() const {
  return std::any_of(drawing.begin(), drawing.end(), [](const auto& d) { return d.has_value(); });
}

namespace {

// Those that by their bounds could matter; together the others hold less than kNeglected of `at_least`.
KeptHabits habits_that_count(const std::vector<SystemSum>& sums, double at_least) {
  struct Bound {
    double most;
    std::size_t system;
    Eigen::Index habit;
  };
  std::vector<Bound> bounds;
  for (const SystemSum& s : sums) {
    const Eigen::ArrayXd most = s.most_of_habits();
    for (Eigen::Index h = 0; h < most.size(); ++h) bounds.push_back({most[h], s.system(), h});
  }
  std::sort(bounds.begin(), bounds.end(), [](const Bound& a, const Bound& b) { return a.most < b.most; });
  double left_out = 0;
  KeptHabits kept;
  for (const Bound& b : bounds) {
    left_out += b.most;
    if (!(left_out < kNeglected * at_least)) kept[b.system].push_back(b.habit);
  }
  for (auto& of_system : kept) std::sort(of_system.begin(), of_system.end());
  return kept;
}

SetModel with_habits(const SetModel& model, const KeptHabits& kept) {
  SetModel narrow = model;
  narrow.habits.clear();
  std::array<Eigen::Index, 2> next{};
  for (const Habit& h : model.habits)
    if (const auto& of = kept[h.system]; std::binary_search(of.begin(), of.end(), next[h.system]++))
      narrow.habits.push_back(h);
  return narrow;
}

}  // namespace

constexpr double kBefore = 0.2;  // of the whole time, for what is told of the progress only

// What `make` makes of each part, on all cores.
template <class Made, class Make>
std::vector<Made> for_each_part(std::size_t parts, Make make) {
  std::vector<std::optional<Made>> made(parts);
  in_parallel(static_cast<int>(parts), [&](int p) {
    const auto part = static_cast<std::size_t>(p);
    made[part].emplace(make(part));
  });
  std::vector<Made> all;
  for (std::optional<Made>& one : made) all.push_back(std::move(*one));
  return all;
}

Result<SetPosterior> integrate(const SetModel& model, const std::function<void(double)>& tell) {
  const auto batches = make_batches(model);
  if (!batches) return batches.error();
  std::vector<PartTable> tables = for_each_part<PartTable>(model.parts.size(), [&](std::size_t p) {
    return PartTable(model, p, batches->rules[batches->of_part[p]], batches->s_ratio[batches->of_part[p]]);
  });
  const WorthTabulating worth = sizes_worth_tabulating(model, tables);
  in_parallel(static_cast<int>(tables.size()),
              [&](int p) { tables[static_cast<std::size_t>(p)].tabulate_drawings(worth); });

  std::vector<SystemSum> all_habits;
  for (std::size_t system = 0; system < 2; ++system) {
    if (std::none_of(model.habits.begin(), model.habits.end(),
                     [&](const Habit& h) { return h.system == system; }))
      continue;
    auto choices = size_choices(model, system, tables);
    if (!choices) return choices.error();
    all_habits.emplace_back(model, *batches, tables, system, std::move(*choices));
  }
  for (std::size_t p = 0; p < tables.size(); ++p) {
    double most = 0;
    for (const SystemSum& s : all_habits) most = std::max(most, s.most_of_part(p));
    if (!(most > 0)) continue;
    tables[p].rescale(1 / most);
    for (SystemSum& s : all_habits) s.rescale(p, 1 / most);
  }
  double at_least = 0, total = 0;
  for (SystemSum& s : all_habits) s.prepare();
  for (SystemSum& s : all_habits) at_least = std::max(at_least, s.lower_bound());
  const KeptHabits kept = habits_that_count(all_habits, at_least);
  const SetModel narrow_model = with_habits(model, kept);
  const std::vector<PartTable> narrow =
      for_each_part<PartTable>(tables.size(), [&](std::size_t p) { return tables[p].narrowed(kept); });
  std::vector<SystemSum> sums;
  for (const SystemSum& s : all_habits)
    if (const auto& of = kept[s.system()]; !of.empty()) {
      sums.emplace_back(narrow_model, *batches, narrow, s.system(), s.choices(of));
      sums.back().prepare();
    }
  all_habits.clear();  // their tables are large
  // What came before took about kBefore of the whole (three idlers, 2026-11); the sums go over the choices twice.
  std::size_t choices = 0, done = 0;
  for (const SystemSum& s : sums) choices += s.count();
  const auto one_more = [&] {
    ++done;
    const double of_sums = static_cast<double>(done) / static_cast<double>(2 * choices);
    if (tell) tell(kBefore + (1 - kBefore) * std::min(1.0, of_sums));
  };
  for (SystemSum& s : sums) total += s.evaluate(at_least, one_more);
  if (!(total > 0) || !std::isfinite(total))
    return Error{ErrorCode::kNoAnswer, "no size of the grids comes near what was measured"};
  SetMasses masses = no_masses(model, *batches, narrow);
  for (SystemSum& s : sums) s.accumulate(total, masses, one_more);

  SetPosterior result;
  result.log_evidence = std::log(masses.total);
  for (std::size_t s = 0; s < 2; ++s) result.system[s] = masses.system[s] / masses.total;
  for (const PartTable& t : tables) result.log_evidence += t.log_scale();
  result.parts = for_each_part<SetPosterior::Part>(
      tables.size(), [&](std::size_t p) { return part_of(model, tables[p], narrow[p], p, masses); });
  result.habit = habit_probabilities(model, kept, masses);
  for (const std::size_t b : batches->of_name)
    result.batches.push_back(further_part(model, *batches, b, masses));
  return result;
}

}  // namespace rondure
