#include "set_system_sum.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace rondure {
namespace {

constexpr std::size_t kWorthKeeping = 4;      // choices for each set of sizes of a part: fewer save nothing
constexpr std::size_t kMostKept = 8'000'000;  // numbers, twice: 128 MB for a part

std::vector<std::size_t> all_rows(const BatchRule& rule) {
  std::vector<std::size_t> rows(rule.rows().size());
  std::iota(rows.begin(), rows.end(), 0);
  return rows;
}

}  // namespace

SystemSum::SystemSum(const SetModel& model, const SetBatches& batches, const std::vector<PartTable>& tables,
                     std::size_t system, std::vector<SizeChoice> choices)
    : model_(model), batches_(batches), tables_(tables), system_(system), choices_(std::move(choices)) {
  std::vector<double> chance;
  for (const Habit& h : model.habits)
    if (h.system == system) chance.push_back(h.chance);
  chance_ = Eigen::Map<const Eigen::ArrayXd>(chance.data(), index(chance.size()));
  members_.resize(batches.rules.size());
  for (const bool sharing : {false, true})
    for (std::size_t p = 0; p < model.parts.size(); ++p)
      if (shares(p) == sharing) members_[batches.of_part[p]].push_back(p);
  for (std::size_t p = 0; p < model.parts.size(); ++p) {
    const BatchRule& rule = batches.rules[batches.of_part[p]];
    const auto rows = all_rows(rule);
    own_.push_back(project(rule, rows, tables[p].own(system)));
    contribution(p, nullptr, rows, part_);
    most_.push_back(part_.table());
    if (shares(p)) most_[p] += chance_belonging(p) * project(rule, rows, tables[p].belonging_at_most(system));
  }
}

void SystemSum::rescale(std::size_t p, double factor) {
  own_[p] *= factor;
  most_[p] *= factor;
}

void SystemSum::prepare() {
  after_.resize(model_.parts.size());
  for (std::size_t b = 0; b < members_.size(); ++b) {
    const auto& rows = batches_.rules[b].rows();
    HabitTable product(index(rows.size()), chance_.size());
    for (std::size_t j = 0; j < rows.size(); ++j) product.row(index(j)) = rows[j].chance;
    for (const std::size_t p : members_[b])
      if (!shares(p)) product *= most_[p];
    before_sharing_.push_back(product);
    HabitTable after = HabitTable::Ones(product.rows(), product.cols());
    for (std::size_t m = members_[b].size(); m-- > 0 && shares(members_[b][m]);) {
      after_[members_[b][m]] = after;
      after *= most_[members_[b][m]];
    }
    batch_most_.push_back((product * after).colwise().sum().transpose());
  }
}

Eigen::ArrayXd SystemSum::prior_of(const SizeChoice& choice) const {
  return Eigen::Map<const Eigen::ArrayXd>(choice.prior.data(), index(choice.prior.size()));
}

// That no part at all shares the drawings is one case, not one for every size.
Eigen::ArrayXd SystemSum::prior_of_none() const {
  Eigen::ArrayXd rest = Eigen::ArrayXd::Ones(chance_.size());
  for (const SizeChoice& c : choices_) rest -= prior_of(c);
  return rest;
}

// With odd parts mixed in. nullptr: no part shares its drawings.
void SystemSum::contribution(std::size_t p, const SizeChoice* choice, const Rows& rows,
                             NodeTable& sum) const {
  const SetModel::Part& part = model_.parts[p];
  const double of_own =
      shares(p) ? part.chance_other_drawing : chance_belonging(p) + part.chance_other_drawing;
  sum.reset({0, rows.size()}, static_cast<std::size_t>(chance_.size()));
  auto f = sum.table();
  for (std::size_t j = 0; j < rows.size(); ++j) f.row(index(j)) = of_own * own_[p].row(index(rows[j]));
  f += part.chance_stranger * tables_[p].stranger_evidence();
  if (!shares(p) || !choice) return;
  if (const OfSizes* of = repeated(p, *choice)) {
    for (std::size_t j = 0; j < rows.size(); ++j)
      f.row(index(j)) += chance_belonging(p) * of->belonging.of_node(rows[j]);
    return;
  }
  tables_[p].belonging(system_, choice->index, room_);
  project(batches_.rules[batches_.of_part[p]], rows, room_, room_of_rows_);
  f += chance_belonging(p) * room_of_rows_.table();
}

void SystemSum::find_repeated() {
  repeated_.resize(model_.parts.size());
  if (model_.drawings.size() < 2) return;
  for (std::size_t p = 0; p < model_.parts.size(); ++p) {
    if (!shares(p)) continue;
    auto& of = repeated_[p];
    for (const SizeChoice& c : choices_)
      of.try_emplace(tables_[p].own_sizes(c.index)).first->second.choice = &c;
    const std::size_t rows = batches_.rules[batches_.of_part[p]].rows().size();
    if (of.size() * kWorthKeeping > choices_.size() ||
        of.size() * rows * static_cast<std::size_t>(chance_.size()) > kMostKept)
      of.clear();
  }
}

SystemSum::OfSizes* SystemSum::repeated(std::size_t p, const SizeChoice& choice) const {
  if (repeated_.empty() || repeated_[p].empty()) return nullptr;
  OfSizes& of = repeated_[p].at(tables_[p].own_sizes(choice.index));
  if (of.belonging.habits() == 0) {
    const BatchRule& rule = batches_.rules[batches_.of_part[p]];
    tables_[p].belonging(system_, choice.index, room_);
    project(rule, all_rows(rule), room_, of.belonging);
    of.rest.reset({0, rule.rows().size()}, of.belonging.habits());
  }
  return &of;
}

SystemSum::Evaluated SystemSum::evaluate(const SizeChoice* choice, const Eigen::ArrayXd& prior,
                                         double negligible) const {
  Evaluated result;
  Eigen::ArrayXd total = chance_ * prior;
  for (std::size_t b = 0; b < members_.size(); ++b) {
    Eigen::ArrayXd others = (chance_ * prior).abs();
    for (std::size_t o = 0; o < members_.size(); ++o)
      if (o != b) others *= batch_most_[o];
    Rows rows = all_rows(batches_.rules[b]);
    const double worth = negligible / static_cast<double>(rows.size());
    HabitTable product = before_sharing_[b];
    for (const std::size_t p : members_[b]) {
      if (!shares(p)) continue;
      // Rows that cannot come to anything are left out before the part's own sum.
      Rows kept;
      for (std::size_t j = 0; j < rows.size(); ++j) {
        const auto left =
            product.row(index(j)) * most_[p].row(index(rows[j])) * after_[p].row(index(rows[j]));
        if ((left.transpose() * others).maxCoeff() < worth) continue;
        product.row(index(kept.size())) = product.row(index(j)).eval();
        kept.push_back(rows[j]);
      }
      rows = std::move(kept);
      product.conservativeResize(index(rows.size()), Eigen::NoChange);
      contribution(p, choice, rows, part_);
      product *= part_.table();
    }
    total *= product.colwise().sum().transpose();
    result.rows.push_back(std::move(rows));
  }
  result.total = total.sum();
  return result;
}

double SystemSum::lower_bound() {
  return choices_.empty() ? 0 : evaluate(&choices_.front(), prior_of(choices_.front()), 0).total;
}

Eigen::ArrayXd SystemSum::most_of_habits() const {
  Eigen::ArrayXd most =
      model_.drawings.empty() ? Eigen::ArrayXd::Zero(chance_.size()) : prior_of_none().abs().eval();
  for (const SizeChoice& c : choices_) most += prior_of(c);
  most *= chance_;
  for (const Eigen::ArrayXd& of_batch : batch_most_) most *= of_batch;
  return most;
}

std::vector<SizeChoice> SystemSum::choices(const std::vector<Eigen::Index>& kept) const {
  std::vector<SizeChoice> narrow = choices_;
  for (SizeChoice& c : narrow) {
    const std::vector<double> all = std::move(c.prior);
    c.prior.clear();
    for (const Eigen::Index h : kept) c.prior.push_back(all[static_cast<std::size_t>(h)]);
  }
  return narrow;
}

double SystemSum::evaluate(double at_least, const std::function<void()>& one_more) {
  find_repeated();
  double sum = 0;
  const double negligible = kNeglected * at_least / static_cast<double>(choices_.size() + 1);
  for (const SizeChoice& c : choices_) {
    evaluated_.push_back(evaluate(&c, prior_of(c), negligible));
    sum += evaluated_.back().total;
    one_more();
  }
  if (!model_.drawings.empty()) {
    evaluated_.push_back(evaluate(nullptr, prior_of_none(), negligible));
    sum += evaluated_.back().total;
  }
  one_more();
  return sum;
}

void SystemSum::accumulate(double total, SetMasses& masses, const std::function<void()>& one_more) {
  for (const HabitTable& own : own_) rest_.push_back(HabitTable::Zero(own.rows(), own.cols()));
  std::vector<std::size_t> order(evaluated_.size());
  std::iota(order.begin(), order.end(), 0);
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return std::abs(evaluated_[a].total) < std::abs(evaluated_[b].total);
  });
  double left_out = 0;
  for (const std::size_t i : order) {
    one_more();
    left_out += std::abs(evaluated_[i].total);
    if (left_out < kNeglected * total) continue;
    const bool none = i == choices_.size();
    accumulate(none ? nullptr : &choices_[i], none ? prior_of_none() : prior_of(choices_[i]),
               evaluated_[i].rows, masses);
  }
  finish(masses);
}

void SystemSum::accumulate(const SizeChoice* choice, const Eigen::ArrayXd& prior,
                           const std::vector<Rows>& rows, SetMasses& masses) {
  std::vector<Eigen::ArrayXd> sums;
  for (std::size_t b = 0; b < members_.size(); ++b) {
    HabitTable product(index(rows[b].size()), chance_.size());
    for (std::size_t j = 0; j < rows[b].size(); ++j)
      product.row(index(j)) = before_sharing_[b].row(index(rows[b][j]));
    if (members_.size() > 1)
      for (const std::size_t p : members_[b])
        if (shares(p)) {
          contribution(p, choice, rows[b], part_);
          product *= part_.table();
        }
    sums.push_back(product.colwise().sum().transpose());
  }
  for (std::size_t b = 0; b < members_.size(); ++b) {
    Eigen::ArrayXd others = chance_ * prior;
    for (std::size_t o = 0; o < members_.size(); ++o)
      if (o != b) others *= sums[o];
    accumulate_batch(b, choice, others, rows[b], masses);
  }
}

void SystemSum::accumulate_batch(std::size_t batch, const SizeChoice* choice, const Eigen::ArrayXd& others,
                                 const Rows& rows, SetMasses& masses) {
  const auto& members = members_[batch];
  const BatchRule& rule = batches_.rules[batch];
  // Products of the parts before each, and of all; those of the parts after it as they come.
  if (f_.size() < members.size()) f_.resize(members.size());
  if (before_.size() < members.size() + 1) before_.resize(members.size() + 1);
  const auto habits = static_cast<std::size_t>(chance_.size());
  for (std::size_t m = 0; m <= members.size(); ++m) before_[m].reset({0, rows.size()}, habits);
  for (std::size_t j = 0; j < rows.size(); ++j)
    before_[0].of_node(j) = rule.rows()[rows[j]].chance * others.transpose();
  for (std::size_t m = 0; m < members.size(); ++m) {
    contribution(members[m], choice, rows, f_[m]);
    before_[m + 1].table() = before_[m].table() * f_[m].table();
  }
  const auto all = before_[members.size()].table();
  for (std::size_t j = 0; j < rows.size(); ++j) masses.further[batch][rows[j]] += all.row(index(j)).sum();
  if (batch == 0) {
    const Eigen::ArrayXd of_habit = all.colwise().sum().transpose();
    if (masses.habit[system_].size() == 0) masses.habit[system_] = Eigen::ArrayXd::Zero(chance_.size());
    masses.habit[system_] += of_habit;
    masses.system[system_] += of_habit.sum();
    masses.total += of_habit.sum();
  }
  part_.reset({0, rows.size()}, habits);
  auto after = part_.table();
  after.setOnes();
  for (std::size_t m = members.size(); m-- > 0;) {
    const std::size_t p = members[m];
    auto rest = before_[m].table();
    rest *= after;
    after *= f_[m].table();
    for (std::size_t j = 0; j < rows.size(); ++j) rest_[p].row(index(rows[j])) += rest.row(index(j));
    if (!shares(p) || !choice) continue;
    rest *= chance_belonging(p);
    double mass = 0;
    if (OfSizes* of = repeated(p, *choice)) {
      for (std::size_t j = 0; j < rows.size(); ++j) {
        mass += (rest.row(index(j)) * of->belonging.of_node(rows[j])).sum();
        of->rest.of_node(rows[j]) += rest.row(index(j));
      }
    } else {
      room_.reset(tables_[p].nodes_of(system_, choice->index), habits);
      project_back(rule, rows, rest, room_);
      const auto added = tables_[p].add_belonging(masses.all[p], system_, choice->index, room_);
      mass = added.all;
      masses.p_worn[p] += added.worn;
    }
    for (std::size_t i = 0; i < masses.drawn[p].size(); ++i)
      if (const auto d = model_.parts[p].drawing[i]) masses.drawn[p][i][system_][choice->index[*d]] += mass;
  }
}

// What does not hang on the choice is spread once, for all choices together.
void SystemSum::finish(SetMasses& masses) const {
  for (std::size_t p = 0; p < repeated_.size(); ++p)
    for (auto& [sizes, of] : repeated_[p]) {
      if (of.rest.habits() == 0) continue;
      const BatchRule& rule = batches_.rules[batches_.of_part[p]];
      room_.reset(tables_[p].nodes_of(system_, of.choice->index), of.rest.habits());
      project_back(rule, all_rows(rule), of.rest.table(), room_);
      masses.p_worn[p] += tables_[p].add_belonging(masses.all[p], system_, of.choice->index, room_).worn;
    }
  for (std::size_t p = 0; p < model_.parts.size(); ++p) {
    const SetModel::Part& part = model_.parts[p];
    const BatchRule& rule = batches_.rules[batches_.of_part[p]];
    const double of_own =
        shares(p) ? part.chance_other_drawing : chance_belonging(p) + part.chance_other_drawing;
    if (of_own > 0) {
      const HabitTable back = project_back(rule, all_rows(rule), of_own * rest_[p]);
      tables_[p].add_own(masses.all[p], system_, back);
      tables_[p].add_own(masses.odd[p], system_, back);
    }
    masses.p_other_drawing[p] += part.chance_other_drawing * (rest_[p] * own_[p]).sum();
    masses.p_stranger[p] += part.chance_stranger * tables_[p].stranger_evidence() * rest_[p].sum();
  }
}

}  // namespace rondure
