#include "set_part_table.hpp"

#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

constexpr double kCut_nats = 60;      // of a curve below its best
constexpr double kNothing_nats = 50;  // of a term below the scale

}  // namespace

PartTable::PartTable(const SetModel::Part& part, const Drawings& drawings,
                     const std::array<double, 2>& system_chance, const BatchRule& rule,
                     const std::vector<double>& s_ratio)
    : part_(part), s_(s_ratio), alone_(rule.alone()) {
  log_scale_ = -INFINITY;
  for (std::size_t system = 0; system < 2; ++system)
    if (system_chance[system] > 0) tabulate(system);
  if (!std::isfinite(log_scale_)) log_scale_ = 0;
  for (std::size_t i = 0; i < part.drawing.size(); ++i)
    if (part.drawing[i]) tabulate_shared(i, *part.drawing[i], drawings);
  for (std::size_t system = 0; system < 2; ++system) {
    if (levels_[system].empty()) continue;
    const auto own = sum_over_levels(system, nullptr);
    for (std::size_t k = 0; k < own.size(); ++k)
      stranger_evidence_ += system_chance[system] * alone_[k] * own[k];
  }
}

void PartTable::tabulate(std::size_t system) {
  const PartModel& model = part_.model;
  for (std::size_t l = 0; l < model.level_chance.size(); ++l) {
    Level level;
    level.own.assign(s_.size(), std::log(model.level_chance[l]));
    level.rest = level.own;
    for (std::size_t i = 0; i < model.features.size(); ++i) {
      const FeatureModel& f = model.features[i];
      auto& logs = level.per_feature.emplace_back(s_.size());
      for (std::size_t k = 0; k < s_.size(); ++k) {
        logs[k] = k > 0 && f.share == 0 ? logs[0] : f.log_likelihood(system, l, s_[k]);
        level.own[k] += logs[k];
        if (!part_.drawing[i]) level.rest[k] += logs[k];
      }
    }
    for (const double v : level.own) log_scale_ = std::max(log_scale_, v);
    levels_[system].push_back(std::move(level));
  }
}

void PartTable::tabulate_shared(std::size_t feature, std::size_t drawing, const Drawings& drawings) {
  const FeatureModel& f = part_.model.features[feature];
  SharedFeature shared{feature, drawing, {}, {}};
  for (std::size_t system = 0; system < 2; ++system) {
    shared.best[system] = -INFINITY;
    if (levels_[system].empty()) continue;
    for (const GridSize& n : drawings[drawing][system])
      for (std::size_t l = 0; l < levels_[system].size(); ++l) {
        std::vector<double> logs(s_.size());
        for (std::size_t k = 0; k < s_.size(); ++k)
          logs[k] = k > 0 && f.share == 0 ? logs[0] : f.log_likelihood_of(n.size_mm, f.sd_mm[l], s_[k]);
        Curve c;
        c.best = *std::max_element(logs.begin(), logs.end());
        std::size_t last = logs.size();
        while (c.first < last && !(logs[c.first] > c.best - kCut_nats)) ++c.first;
        while (last > c.first && !(logs[last - 1] > c.best - kCut_nats)) --last;
        c.value.assign(logs.begin() + static_cast<std::ptrdiff_t>(c.first),
                       logs.begin() + static_cast<std::ptrdiff_t>(last));
        shared.best[system] = std::max(shared.best[system], c.best);
        shared.curves[system].push_back(std::move(c));
      }
  }
  shared_.push_back(std::move(shared));
}

template <class Visit>
void PartTable::visit(std::size_t system, std::size_t level, const std::vector<std::size_t>* chosen,
                      Visit visit) const {
  const Level& l = levels_[system][level];
  if (!chosen) {
    for (std::size_t k = 0; k < s_.size(); ++k)
      if (const double x = l.own[k] - log_scale_; x > -kNothing_nats) visit(k, std::exp(x));
    return;
  }
  std::size_t first = 0, last = s_.size();
  std::vector<const Curve*> curves;
  for (const SharedFeature& f : shared_) {
    if (f.drawing >= chosen->size()) continue;
    const Curve& c = f.curves[system][(*chosen)[f.drawing] * levels_[system].size() + level];
    first = std::max(first, c.first);
    last = std::min(last, c.first + c.value.size());
    curves.push_back(&c);
  }
  for (std::size_t k = first; k < last; ++k) {
    double x = l.rest[k] - log_scale_;
    for (const Curve* c : curves) x += c->value[k - c->first];
    if (x > -kNothing_nats) visit(k, std::exp(x));
  }
}

std::vector<double> PartTable::sum_over_levels(std::size_t system,
                                               const std::vector<std::size_t>* chosen) const {
  std::vector<double> sum(s_.size(), 0);
  for (std::size_t l = 0; l < levels_[system].size(); ++l)
    visit(system, l, chosen, [&](std::size_t k, double value) { sum[k] += value; });
  return sum;
}

void PartTable::add_masses(Posterior& masses, std::size_t system, const std::vector<std::size_t>* chosen,
                           const std::vector<double>& weight) const {
  for (auto& block : masses.blocks)
    if (block.system == system)
      visit(system, block.level, chosen,
            [&](std::size_t k, double value) { block.mass[k] += weight[k] * value; });
}

void PartTable::add_stranger(Posterior& masses, double weight,
                             const std::array<double, 2>& system_chance) const {
  if (!(weight > 0)) return;
  for (auto& block : masses.blocks)
    visit(block.system, block.level, nullptr, [&](std::size_t k, double value) {
      block.mass[k] += weight * system_chance[block.system] * alone_[k] * value / stranger_evidence_;
    });
}

PartTable::Bounds PartTable::log_bounds(std::size_t system, const std::vector<std::size_t>& chosen) const {
  if (shared_.empty()) return {};
  double unchosen = 0;
  for (const SharedFeature& f : shared_)
    if (f.drawing >= chosen.size()) unchosen += f.best[system];
  double best = 0, mean = 0;
  for (std::size_t l = 0; l < levels_[system].size(); ++l) {
    double best_of_level = 0;
    visit(system, l, &chosen, [&](std::size_t k, double value) {
      best_of_level = std::max(best_of_level, value);
      mean += alone_[k] * value;
    });
    best += best_of_level;
  }
  const double belongs =
      (1 - part_.chance_other_drawing - part_.chance_stranger) * std::exp(std::min(unchosen, 500.0));
  const double odd = part_.chance_other_drawing * static_cast<double>(levels_[system].size()) +
                     part_.chance_stranger * stranger_evidence_;
  return {std::log(belongs * best + odd), std::log(belongs * mean + odd)};
}

Posterior PartTable::empty_posterior(const std::array<double, 2>& system_chance) const {
  Posterior p;
  p.s_ratio = s_;
  p.log_weight.assign(s_.size(), 0);
  for (std::size_t system = 0; system < 2; ++system)
    for (std::size_t l = 0; l < levels_[system].size(); ++l)
      p.blocks.push_back({system, l, std::log(system_chance[system] * part_.model.level_chance[l]),
                          std::vector<double>(s_.size(), 0), levels_[system][l].per_feature});
  return p;
}

}  // namespace rondure
