// What one part of a set says of the drawings that it shares: a curve over the nodes of its shrinkage for each drawn size.
#include <algorithm>
#include <cmath>

#include "set_part_table.hpp"
#include "wear_law.hpp"

namespace rondure {
namespace {

// Of a term below the scale. Where a part may be a stranger, that is e^-14 of it or more whatever the others say.
constexpr double kNothing_nats = 50, kNothing_beside_strangers_nats = 36;
constexpr std::size_t kSizesAtOnce = 64;  // their table of all nodes stays in the processor's cache

}  // namespace

// Logarithms of the likelihoods of some drawn sizes at one level over all nodes, a size a column: with the surface as it
// was made, and worn.
class PartTable::LogCurves {
public:
  LogCurves(const PartTable& table, std::size_t feature, std::size_t level)
      : s_(table.s_),
        f_(table.part_.model.features[feature]),
        worn_(table.part_.worn[feature]),
        level_(level) {
    unworn_.resize(index(s_.size()), index(kSizesAtOnce));
    if (!worn_) return;
    worn_logs_.resize(unworn_.rows(), unworn_.cols());
    wear_.emplace(worn_->wear_mean_mm, f_.sd_mm[level]);
    log_worn_ = std::log(worn_->chance), log_unworn_ = std::log1p(-worn_->chance);
  }
  // at_most: bounds of it will do, which take less time.
  void tabulate(const std::vector<GridSize>& some, bool at_most) {
    for (std::size_t k = 0; k < s_.size(); ++k) {
      if (k == 0 || f_.share != 0) f_.log_likelihoods_of(some, f_.sd_mm[level_], s_[k], of_node_);
      for (std::size_t n = 0; n < some.size(); ++n) unworn_(index(k), index(n)) = of_node_[n] + log_unworn_;
    }
    for (std::size_t n = 0; worn_ && n < some.size(); ++n) {
      const double size = some[n].size_mm;
      const double off = f_.evidence_mm ? (size - f_.evidence_mm->value) / f_.evidence_mm->u : 0;
      const double base = log_worn_ - 0.5 * off * off;
      for (std::size_t k = 0; k < s_.size(); ++k) {
        const double t = worn_->wear_sign * (size * (1 - f_.share * s_[k]) - worn_->anchor_mm);
        worn_logs_(index(k), index(n)) =
            base + (at_most ? wear_->log_density_at_most(t) : wear_->log_density(t));
      }
    }
  }
  auto unworn(std::size_t n) const { return unworn_.col(index(n)); }
  auto worn(std::size_t n) const { return worn_logs_.col(index(n)); }
  bool may_be_worn() const { return worn_.has_value(); }
  // Of the nodes from first on, `count` of them.
  Eigen::ArrayXd likelihood(std::size_t n, Eigen::Index first, Eigen::Index count) const {
    Eigen::ArrayXd sum = unworn(n).segment(first, count).exp();
    if (worn_) sum += worn(n).segment(first, count).exp();
    return sum;
  }

private:
  const std::vector<double>& s_;
  const FeatureModel& f_;
  const std::optional<ShapeReading>& worn_;
  std::size_t level_;
  Eigen::ArrayXXd unworn_, worn_logs_;
  std::optional<WearLaw> wear_;
  double log_worn_ = 0, log_unworn_ = 0;
  std::vector<double> of_node_;
};

namespace {

// From `from` on, as many as are tabulated at once.
std::vector<std::size_t> some_of(const std::vector<std::size_t>& all, std::size_t from) {
  return {all.begin() + index(from), all.begin() + index(std::min(all.size(), from + kSizesAtOnce))};
}

std::vector<GridSize> sizes_at(const std::vector<GridSize>& sizes, const std::vector<std::size_t>& at) {
  std::vector<GridSize> some;
  for (const std::size_t n : at) some.push_back(sizes[n]);
  return some;
}

}  // namespace

std::vector<double> PartTable::log_most_of_sizes(std::size_t system, std::size_t drawing) const {
  const auto& sizes = model_.drawings[drawing][system];
  std::vector<double> most(sizes.size(), 0);
  const auto at = std::find(part_.drawing.begin(), part_.drawing.end(), drawing);
  if (at == part_.drawing.end()) return most;
  for (std::size_t l = 0; l < levels(); ++l) {
    LogCurves curves(*this, static_cast<std::size_t>(at - part_.drawing.begin()), l);
    const Eigen::ArrayXd log_rest = levels_[system][l].rest_most.log();
    for (std::size_t from = 0; from < sizes.size(); from += kSizesAtOnce) {
      const std::size_t to = std::min(sizes.size(), from + kSizesAtOnce);
      curves.tabulate({sizes.begin() + index(from), sizes.begin() + index(to)}, true);
      for (std::size_t n = from; n < to; ++n) {
        most[n] += std::exp((log_rest + curves.unworn(n - from)).maxCoeff());
        if (curves.may_be_worn()) most[n] += std::exp((log_rest + curves.worn(n - from)).maxCoeff());
      }
    }
  }
  for (double& m : most) m = log_with_odd(system, m);
  return most;
}

PartTable::Bounds PartTable::log_bounds_of_size(std::size_t system, std::size_t drawing,
                                                std::size_t size) const {
  const auto at = std::find(part_.drawing.begin(), part_.drawing.end(), drawing);
  if (at == part_.drawing.end()) return {};
  double best = 0, mean = 0;
  for (std::size_t l = 0; l < levels(); ++l) {
    LogCurves curves(*this, static_cast<std::size_t>(at - part_.drawing.begin()), l);
    curves.tabulate({model_.drawings[drawing][system][size]}, false);
    const Eigen::ArrayXd likelihood = curves.likelihood(0, 0, index(s_.size()));
    best += (levels_[system][l].rest_most * likelihood).maxCoeff();
    mean += (levels_[system][l].rest_mean * likelihood).sum();
  }
  return {log_with_odd(system, best), log_with_odd(system, mean)};
}

// Values of the curves of one level, candidate by candidate, behind those that are there; their ranges and the largest.
void PartTable::tabulate_curves(std::size_t system, std::size_t level, const std::vector<std::size_t>& worth,
                                SharedFeature& shared) const {
  const auto& sizes = model_.drawings[shared.drawing][system];
  const double nothing_nats =
      part_.chance_stranger * stranger_evidence_ > std::exp(kNothing_beside_strangers_nats - kNothing_nats)
          ? kNothing_beside_strangers_nats
          : kNothing_nats;
  const Eigen::ArrayXd least = -nothing_nats - levels_[system][level].rest_most.log();
  LogCurves curves(*this, shared.feature, level);
  for (std::size_t from = 0; from < worth.size(); from += kSizesAtOnce) {
    const auto some = some_of(worth, from);
    curves.tabulate(sizes_at(sizes, some), false);
    for (std::size_t i = 0; i < some.size(); ++i) {
      NodeRange& range = shared.curves[system][some[i] * levels() + level].range;
      range = {0, s_.size()};
      const auto counts = [&](std::size_t k) {
        return curves.unworn(i)[index(k)] > least[index(k)] ||
               (curves.may_be_worn() && curves.worn(i)[index(k)] > least[index(k)]);
      };
      while (range.first < range.last && !counts(range.first)) ++range.first;
      while (range.last > range.first && !counts(range.last - 1)) --range.last;
      if (range.count() == 0) continue;
      const auto first = index(range.first), count = index(range.count());
      const Eigen::ArrayXd likelihood = curves.likelihood(i, first, count);
      shared.values[system].insert(shared.values[system].end(), likelihood.begin(), likelihood.end());
      auto most = shared.most[system][level].segment(first, count);
      most = most.max(likelihood);
    }
  }
}

PartTable::SharedFeature PartTable::tabulate_shared(
    std::size_t feature, std::size_t drawing, const std::array<std::vector<std::size_t>, 2>& worth) const {
  SharedFeature shared{feature, drawing, {}, {}, {}};
  for (std::size_t system = 0; system < 2; ++system) {
    if (levels_[system].empty()) continue;
    const std::size_t sizes = model_.drawings[drawing][system].size();
    shared.most[system].assign(levels(), Eigen::ArrayXd::Zero(index(s_.size())));
    auto& curves = shared.curves[system];
    curves.resize(sizes * levels());
    shared.values[system].reserve(worth[system].size() * levels() *
                                  s_.size());  // what is not filled is never touched
    for (std::size_t l = 0; l < levels(); ++l) tabulate_curves(system, l, worth[system], shared);
    const double* next = shared.values[system].data();  // they stand level by level
    for (std::size_t l = 0; l < levels(); ++l)
      for (std::size_t n = 0; n < sizes; ++n) {
        Curve& curve = curves[n * levels() + l];
        curve.value = next;
        next += curve.range.count();
      }
  }
  return shared;
}

}  // namespace rondure
