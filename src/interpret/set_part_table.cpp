#include "set_part_table.hpp"

#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

Eigen::MatrixXd weights_of(const std::vector<Habit>& habits, std::size_t system, std::size_t grids,
                           std::vector<double>& chance) {
  for (const Habit& h : habits)
    if (h.system == system) chance.push_back(h.chance);
  Eigen::MatrixXd weights(static_cast<Eigen::Index>(grids), static_cast<Eigen::Index>(chance.size()));
  Eigen::Index column = 0;
  for (const Habit& h : habits)
    if (h.system == system)
      weights.col(column++) =
          Eigen::Map<const Eigen::VectorXd>(h.weight.data(), static_cast<Eigen::Index>(grids));
  return weights;
}

}  // namespace

PartTable::PartTable(const SetModel& model, std::size_t part, const BatchRule& rule,
                     const std::vector<double>& s_ratio)
    : model_(model), part_(model.parts[part]), s_(s_ratio), alone_(rule.alone()) {
  for (const FeatureModel& f : part_.model.features) {
    auto& members = members_.emplace_back();
    for (std::size_t system = 0; system < 2; ++system)
      members[system] = grids_holding(f.grids[system], f.candidates[system]);
  }
  for (std::size_t system = 0; system < 2; ++system) {
    weights_[system] =
        weights_of(model.habits, system, part_.model.features[0].grids[system].size(), chance_[system]);
    if (habits(system) > 0) tabulate(system);
  }
  scale_levels();
  for (std::size_t system = 0; system < 2; ++system) {
    if (levels_[system].empty()) continue;
    const HabitTable all = own(system);
    for (std::size_t k = 0; k < s_.size(); ++k)
      for (std::size_t h = 0; h < habits(system); ++h)
        stranger_evidence_ += chance_[system][h] * alone_[k] * all(index(k), index(h));
  }
}

void PartTable::tabulate_drawings(const WorthTabulating& worth) {
  std::vector<SharedFeature> shared;
  for (std::size_t i = 0; i < part_.drawing.size(); ++i)
    if (const auto d = part_.drawing[i]) shared.push_back(tabulate_shared(i, *d, worth[*d]));
  shared_ = std::make_shared<const std::vector<SharedFeature>>(std::move(shared));
}

PartTable PartTable::narrowed(const KeptHabits& kept) const { return {*this, kept}; }

PartTable::PartTable(const PartTable& all, const KeptHabits& kept)
    : model_(all.model_),
      part_(all.part_),
      s_(all.s_),
      alone_(all.alone_),
      members_(all.members_),
      shared_(all.shared_),
      log_scale_(all.log_scale_),
      stranger_evidence_(all.stranger_evidence_) {
  for (std::size_t system = 0; system < 2; ++system) {
    const auto& columns = kept[system];
    weights_[system] = all.weights_[system](Eigen::all, columns);
    for (const Eigen::Index h : columns)
      chance_[system].push_back(all.chance_[system][static_cast<std::size_t>(h)]);
    if (columns.empty()) continue;
    for (const Level& of_all : all.levels_[system]) {
      Level& level = levels_[system].emplace_back();
      level.own = of_all.own(Eigen::all, columns);
      level.rest = of_all.rest(Eigen::all, columns);
      level.shift = of_all.shift;
      level.evidence = of_all.evidence;
      level.find_most(alone_);
    }
  }
}

void PartTable::Level::find_most(const std::vector<double>& alone) {
  rest_most = rest.rowwise().maxCoeff();
  rest_mean = rest_most * Eigen::Map<const Eigen::ArrayXd>(alone.data(), rest_most.size());
  own_most = own.maxCoeff();
}

// Grid by grid for every feature, and their products for every habit; shifts are put in by scale_levels.
void PartTable::tabulate(std::size_t system) {
  const auto nodes = index(s_.size());
  HabitTable of_habits(nodes, index(habits(system)));  // once: giving it back and asking again costs more
  for (std::size_t l = 0; l < levels(); ++l) {
    Level level;
    level.own = level.rest = HabitTable::Constant(nodes, index(habits(system)), part_.model.level_chance[l]);
    std::vector<double> per_grid;
    for (std::size_t i = 0; i < part_.model.features.size(); ++i) {
      const FeatureModel& f = part_.model.features[i];
      auto& shift = level.shift.emplace_back(s_.size());
      auto& evidence = level.evidence.emplace_back(nodes, weights_[system].rows());
      for (std::size_t k = 0; k < s_.size(); ++k) {
        if (k > 0 && f.share == 0) {
          shift[k] = shift[0];
          evidence.row(index(k)) = evidence.row(0);
          continue;
        }
        shift[k] = f.grid_evidence(system, l, s_[k], members_[i][system], per_grid);
        evidence.row(index(k)) =
            Eigen::Map<const Eigen::RowVectorXd>(per_grid.data(), index(per_grid.size()));
      }
      of_habits.matrix().noalias() = evidence * weights_[system];
      level.own *= of_habits;
      if (!part_.drawing[i]) level.rest *= of_habits;
    }
    levels_[system].push_back(std::move(level));
  }
}

void PartTable::scale_levels() {
  const auto total_shift = [&](const Level& level, std::size_t k, bool rest) {
    double sum = 0;
    for (std::size_t i = 0; i < level.shift.size(); ++i)
      if (!rest || !part_.drawing[i]) sum += level.shift[i][k];
    return sum;
  };
  log_scale_ = -INFINITY;
  for (const auto& of_system : levels_)
    for (const Level& level : of_system)
      for (std::size_t k = 0; k < s_.size(); ++k)
        if (const double most = level.own.row(index(k)).maxCoeff(); most > 0)
          log_scale_ = std::max(log_scale_, total_shift(level, k, false) + std::log(most));
  if (!std::isfinite(log_scale_)) log_scale_ = 0;
  for (auto& of_system : levels_)
    for (Level& level : of_system) {
      for (std::size_t k = 0; k < s_.size(); ++k) {
        level.own.row(index(k)) *= std::exp(total_shift(level, k, false) - log_scale_);
        level.rest.row(index(k)) *= std::exp(total_shift(level, k, true) - log_scale_);
      }
      level.find_most(alone_);
    }
}

void PartTable::rescale(double factor) {
  for (auto& of_system : levels_)
    for (Level& level : of_system) {
      level.own *= factor;
      level.rest *= factor;
      level.rest_most *= factor;
      level.rest_mean *= factor;
      level.own_most *= factor;
    }
  stranger_evidence_ *= factor;
  log_scale_ -= std::log(factor);
}

double PartTable::log_with_odd(std::size_t system, double belonging) const {
  double own_most = 0;
  for (const Level& level : levels_[system]) own_most += level.own_most;
  const double belongs = 1 - part_.chance_other_drawing - part_.chance_stranger;
  return std::log(belongs * belonging + part_.chance_other_drawing * own_most +
                  part_.chance_stranger * stranger_evidence_);
}

HabitTable PartTable::own(std::size_t system) const {
  HabitTable sum = levels_[system][0].own;
  for (std::size_t l = 1; l < levels(); ++l) sum += levels_[system][l].own;
  return sum;
}

PartTable::Curve PartTable::product_of_curves(std::size_t system, std::size_t level,
                                              const std::vector<std::size_t>& chosen,
                                              std::vector<double>& room) const {
  NodeRange range{0, s_.size()};
  std::size_t count = 0;
  const Curve* one = nullptr;
  for (const SharedFeature& f : *shared_) {
    if (f.drawing >= chosen.size()) continue;
    one = &f.curves[system][chosen[f.drawing] * levels() + level];
    range.first = std::max(range.first, one->range.first);
    range.last = std::min(range.last, one->range.last);
    ++count;
  }
  if (count == 1) return *one;
  if (range.last < range.first) range.last = range.first;
  room.assign(range.last - range.first, 1);
  for (const SharedFeature& f : *shared_) {
    if (f.drawing >= chosen.size()) continue;
    const Curve& c = f.curves[system][chosen[f.drawing] * levels() + level];
    for (std::size_t k = range.first; k < range.last; ++k)
      room[k - range.first] *= c.value[k - c.range.first];
  }
  return {range, room.data()};
}

std::vector<double> PartTable::unworn_share(std::size_t system, std::size_t level,
                                            const std::vector<std::size_t>& chosen, NodeRange range) const {
  std::vector<double> share, log_unworn;
  for (const SharedFeature& f : *shared_) {
    const auto& worn = part_.worn[f.feature];
    if (!worn) continue;
    share.resize(range.count(), 1);
    const FeatureModel& feature = part_.model.features[f.feature];
    const std::vector size{model_.drawings[f.drawing][system][chosen[f.drawing]]};
    const Curve& c = f.curves[system][chosen[f.drawing] * levels() + level];
    for (std::size_t k = range.first; k < range.last; ++k) {
      feature.log_likelihoods_of(size, feature.sd_mm[level], s_[k], log_unworn);
      const double value = c.value[k - c.range.first];
      if (value > 0) share[k - range.first] *= (1 - worn->chance) * std::exp(log_unworn[0]) / value;
    }
  }
  return share;
}

std::vector<std::size_t> PartTable::own_sizes(const std::vector<std::size_t>& chosen) const {
  std::vector<std::size_t> own;
  for (const SharedFeature& f : *shared_) own.push_back(chosen[f.drawing]);
  return own;
}

NodeRange PartTable::nodes_of(std::size_t system, const std::vector<std::size_t>& chosen) const {
  NodeRange nodes{s_.size(), 0};
  for (std::size_t l = 0; l < levels(); ++l) {
    NodeRange of_level{0, s_.size()};
    for (const SharedFeature& f : *shared_) {
      if (f.drawing >= chosen.size()) continue;
      const NodeRange& own = f.curves[system][chosen[f.drawing] * levels() + l].range;
      of_level = {std::max(of_level.first, own.first), std::min(of_level.last, own.last)};
    }
    if (of_level.count() == 0) continue;
    nodes = {std::min(nodes.first, of_level.first), std::max(nodes.last, of_level.last)};
  }
  return nodes.count() > 0 ? nodes : NodeRange{};
}

void PartTable::belonging(std::size_t system, const std::vector<std::size_t>& chosen, NodeTable& sum) const {
  sum.reset(nodes_of(system, chosen), habits(system));
  std::vector<double> room;
  for (std::size_t l = 0; l < levels(); ++l) {
    const Curve c = product_of_curves(system, l, chosen, room);
    for (std::size_t k = c.range.first; k < c.range.last; ++k)
      sum.of_node(k) += c.value[k - c.range.first] * levels_[system][l].rest.row(index(k));
  }
}

HabitTable PartTable::belonging_at_most(std::size_t system) const {
  HabitTable sum = HabitTable::Zero(index(s_.size()), index(habits(system)));
  for (std::size_t l = 0; l < levels(); ++l) {
    Eigen::ArrayXd most = Eigen::ArrayXd::Ones(index(s_.size()));
    for (const SharedFeature& f : *shared_) most *= f.most[system][l];
    sum += levels_[system][l].rest.colwise() * most;
  }
  return sum;
}

PartTable::Added PartTable::add_belonging(PartMasses& masses, std::size_t system,
                                          const std::vector<std::size_t>& chosen,
                                          const NodeTable& back) const {
  Added added;
  std::vector<double> room;
  for (std::size_t l = 0; l < levels(); ++l) {
    const Curve c = product_of_curves(system, l, chosen, room);
    const auto unworn = unworn_share(system, l, chosen, c.range);
    for (std::size_t k = c.range.first; k < c.range.last; ++k) {
      const auto row = index(k);
      const auto mass = c.value[k - c.range.first] * back.of_node(k) * levels_[system][l].rest.row(row);
      masses[system][l].row(row) += mass;
      const double sum = mass.sum();
      added.all += sum;
      if (!unworn.empty()) added.worn += sum * (1 - unworn[k - c.range.first]);
    }
  }
  return added;
}

void PartTable::add_own(PartMasses& masses, std::size_t system, const HabitTable& back) const {
  for (std::size_t l = 0; l < levels(); ++l) masses[system][l] += back * levels_[system][l].own;
}

PartMasses PartTable::stranger(double weight) const {
  PartMasses masses = no_mass();
  if (!(weight > 0)) return masses;
  for (std::size_t system = 0; system < 2; ++system)
    for (std::size_t l = 0; l < masses[system].size(); ++l)
      for (std::size_t k = 0; k < s_.size(); ++k)
        for (std::size_t h = 0; h < habits(system); ++h)
          masses[system][l](index(k), index(h)) = weight * chance_[system][h] * alone_[k] *
                                                  levels_[system][l].own(index(k), index(h)) /
                                                  stranger_evidence_;
  return masses;
}

PartTable::Bounds PartTable::log_bounds(std::size_t system, const std::vector<std::size_t>& chosen) const {
  if (shared_->empty()) return {};
  double best = 0, mean = 0;
  std::vector<double> room;
  for (std::size_t l = 0; l < levels(); ++l) {
    double unchosen = 1;
    for (const SharedFeature& f : *shared_)
      if (f.drawing >= chosen.size()) unchosen *= f.most[system][l].maxCoeff();
    const Curve c = product_of_curves(system, l, chosen, room);
    const auto first = index(c.range.first), nodes = index(c.range.last) - first;
    if (nodes <= 0) continue;
    const Eigen::Map<const Eigen::ArrayXd> value(c.value, nodes);
    best += unchosen * (levels_[system][l].rest_most.segment(first, nodes) * value).maxCoeff();
    mean += unchosen * (levels_[system][l].rest_mean.segment(first, nodes) * value).sum();
  }
  return {log_with_odd(system, best), log_with_odd(system, mean)};
}

PartMasses PartTable::no_mass() const {
  PartMasses masses;
  for (std::size_t system = 0; system < 2; ++system)
    masses[system].assign(levels_[system].size(), HabitTable::Zero(index(s_.size()), index(habits(system))));
  return masses;
}

Posterior PartTable::posterior(const PartMasses& a, const PartMasses& b) const {
  Posterior p;
  p.s_ratio = s_;
  p.log_weight.assign(s_.size(), 0);
  for (std::size_t system = 0; system < 2; ++system)
    for (std::size_t l = 0; l < levels(); ++l) {
      Eigen::ArrayXd mass = Eigen::ArrayXd::Zero(index(s_.size()));
      for (const PartMasses* m : {&a, &b})
        if (l < (*m)[system].size()) mass += (*m)[system][l].rowwise().sum();
      if (!levels_[system].empty())
        p.blocks.push_back(
            {system, l, std::log(part_.model.level_chance[l]), {mass.data(), mass.data() + mass.size()}, {}});
    }
  return p;
}

// Given node and level, a candidate on the grids g has the share likelihood * sum over g of step_g *
// sum over the habits of mass_h weight_gh / evidence_h.
void PartTable::add_masses(std::size_t feature, std::size_t system, std::size_t level,
                           const PartMasses& masses, Eigen::ArrayXd& mass, Eigen::MatrixXd& of_grids) const {
  if (level >= masses[system].size()) return;
  const HabitTable& own = masses[system][level];
  const Eigen::ArrayXd of_nodes = own.rowwise().sum();
  if (!(of_nodes.sum() > 0)) return;
  const HabitTable of_habits = (levels_[system][level].evidence[feature] * weights_[system]).array();
  const HabitTable ratio = (of_habits > 0).select(own / of_habits, 0.0);
  of_grids += ratio.matrix() * weights_[system].transpose();
  mass += of_nodes;
}

FeatureSpread PartTable::spread(std::size_t feature, const PartTable& narrow, const PartMasses& masses,
                                const PartMasses& stranger) const {
  const FeatureModel& f = part_.model.features[feature];
  FeatureSpread spread(f);
  for (std::size_t system = 0; system < 2; ++system)
    for (std::size_t l = 0; l < levels_[system].size(); ++l) {
      Eigen::ArrayXd mass = Eigen::ArrayXd::Zero(index(s_.size()));
      Eigen::MatrixXd of_grids = Eigen::MatrixXd::Zero(index(s_.size()), weights_[system].rows());
      narrow.add_masses(feature, system, l, masses, mass, of_grids);
      add_masses(feature, system, l, stranger, mass, of_grids);
      std::size_t nodes = s_.size();
      if (f.share == 0) {  // every node says the same
        of_grids.row(0) = of_grids.colwise().sum().eval();
        mass[0] = mass.sum();
        nodes = 1;
      }
      const GridMembers& members = members_[feature][system];
      std::vector<double> of_group(members.groups.size());
      for (std::size_t k = 0; k < nodes; ++k) {
        if (mass[index(k)] < kLeastNodeMass) continue;
        for (std::size_t m = 0; m < of_group.size(); ++m) {
          of_group[m] = 0;
          for (const std::size_t g : members.groups[m])
            of_group[m] += f.grids[system][g].step_mm * of_grids(index(k), index(g));
        }
        spread.add(f, members, of_group, system, l, s_[k], levels_[system][l].shift[feature][k]);
      }
    }
  return spread;
}

}  // namespace rondure
