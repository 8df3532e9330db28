#include "set_posterior.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

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
  for (const BatchRule& rule : batches.rules) masses.further.emplace_back(rule.rows().size(), 0.0);
  return masses;
}

void scale(PartMasses& masses, double factor) {
  for (auto& of_system : masses)
    for (HabitTable& level : of_system) level = (factor * level).max(0.0);
}

std::vector<double> habit_probabilities(const SetModel& model, const SetMasses& masses) {
  std::vector<double> p;
  std::array<Eigen::Index, 2> next{};
  for (const Habit& h : model.habits) {
    const Eigen::ArrayXd& of_system = masses.habit[h.system];
    p.push_back(of_system.size() > 0 ? std::max(0.0, of_system[next[h.system]++] / masses.total) : 0);
  }
  return p;
}

SetPosterior::Part part_of(const SetModel& model, const PartTable& table, std::size_t p, SetMasses& masses) {
  SetPosterior::Part part;
  part.p_other_drawing = masses.p_other_drawing[p] / masses.total;
  part.p_stranger = masses.p_stranger[p] / masses.total;
  table.add_stranger(masses.all[p], masses.p_stranger[p]);
  table.add_stranger(masses.odd[p], masses.p_stranger[p]);
  scale(masses.all[p], 1 / masses.total);
  scale(masses.odd[p], 1 / masses.total);
  part.all = table.posterior(masses.all[p]);
  part.drawn = std::move(masses.drawn[p]);
  for (std::size_t i = 0; i < part.drawn.size(); ++i) {
    part.own.push_back(table.spread(i, model.parts[p].drawing[i] ? masses.odd[p] : masses.all[p]));
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

Result<SetPosterior> integrate(const SetModel& model) {
  const auto batches = make_batches(model);
  if (!batches) return batches.error();
  std::vector<PartTable> tables;
  tables.reserve(model.parts.size());
  for (std::size_t p = 0; p < model.parts.size(); ++p)
    tables.emplace_back(model, p, batches->rules[batches->of_part[p]], batches->s_ratio[batches->of_part[p]]);

  std::vector<SystemSum> sums;
  for (std::size_t system = 0; system < 2; ++system) {
    if (std::none_of(model.habits.begin(), model.habits.end(),
                     [&](const Habit& h) { return h.system == system; }))
      continue;
    auto choices = size_choices(model, system, tables);
    if (!choices) return choices.error();
    sums.emplace_back(model, *batches, tables, system, std::move(*choices));
  }
  for (std::size_t p = 0; p < tables.size(); ++p) {
    double most = 0;
    for (const SystemSum& s : sums) most = std::max(most, s.most_of_part(p));
    if (!(most > 0)) continue;
    tables[p].rescale(1 / most);
    for (SystemSum& s : sums) s.rescale(p, 1 / most);
  }
  double at_least = 0, total = 0;
  for (SystemSum& s : sums) s.prepare();
  for (SystemSum& s : sums) at_least = std::max(at_least, s.lower_bound());
  for (SystemSum& s : sums) total += s.evaluate(at_least);
  if (!(total > 0) || !std::isfinite(total))
    return Error{ErrorCode::kNoAnswer, "no size of the grids comes near what was measured"};
  SetMasses masses = no_masses(model, *batches, tables);
  for (SystemSum& s : sums) s.accumulate(total, masses);

  SetPosterior result;
  result.log_evidence = std::log(masses.total);
  for (std::size_t s = 0; s < 2; ++s) result.system[s] = masses.system[s] / masses.total;
  for (std::size_t p = 0; p < tables.size(); ++p) {
    result.log_evidence += tables[p].log_scale();
    result.parts.push_back(part_of(model, tables[p], p, masses));
  }
  result.habit = habit_probabilities(model, masses);
  for (const std::size_t b : batches->of_name)
    result.batches.push_back(further_part(model, *batches, b, masses));
  return result;
}

}  // namespace rondure
