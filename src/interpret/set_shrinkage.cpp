#include "set_shrinkage.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/normal_law.hpp"

namespace rondure {
namespace {

// As kNodeStep_widths of set_batches.cpp: off by 2 exp(-2 pi^2 / 0.95^2) = 6e-10 for a normal law.
constexpr double kBatchStep_widths = 0.95;

// Mass of the law below s and above s, each to its last digits.
struct Masses {
  double below = 0, above = 0;
};
Masses masses(const ShrinkageLaw& law, double s) {
  Masses m;
  for (const ShrinkageLaw::Part& p : law.parts) {
    const double a = (law.floor - p.mean) / p.sd, b = (law.ceiling - p.mean) / p.sd, x = (s - p.mean) / p.sd;
    // Differences of the normal law on the side where they do not cancel.
    const auto between = [](double from, double to) {
      return from > 0 ? normal_cdf(-from) - normal_cdf(-to) : normal_cdf(to) - normal_cdf(from);
    };
    const double whole = between(a, b);
    m.below += p.weight * between(a, x) / whole;
    m.above += p.weight * between(x, b) / whole;
  }
  return m;
}

}  // namespace

std::vector<double> shrinkage_quantiles(const ShrinkageLaw& law, const std::vector<double>& z) {
  std::vector<double> s;
  double from = law.floor;
  for (const double at : z) {
    double lo = from, hi = law.ceiling;
    const double below = normal_cdf(at), above = normal_cdf(-at);
    for (int i = 0; i < 60 && hi - lo > 1e-13; ++i) {
      const double middle = (lo + hi) / 2;
      const Masses m = masses(law, middle);
      (at < 0 ? m.below < below : m.above > above) ? lo = middle : hi = middle;
    }
    s.push_back(from = (lo + hi) / 2);
  }
  return s;
}

BatchRule::BatchRule() : alone_{1}, nodes_{0}, rows_{{1, 0, 0, {1}}} {}

BatchRule::BatchRule(const std::vector<double>& likeness, std::size_t parts, double z_step,
                     double step_scale) {
  const auto half = static_cast<std::size_t>(std::ceil(kReach_z / z_step));
  const double z_between = kReach_z / static_cast<double>(half);
  for (std::size_t k = 0; k <= 2 * half; ++k)
    nodes_.push_back(-kReach_z + z_between * static_cast<double>(k));
  for (const double z : nodes_) alone_.push_back(z_between * normal_density(z));
  const auto row = [&](std::size_t l, double chance, double centre, double sd) {
    Row r{chance, l, 0, {}};
    for (std::size_t k = 0; k < nodes_.size(); ++k) {
      const double d = (nodes_[k] - centre) / sd;
      if (std::abs(d) > kReach_z + 0.5) continue;
      if (r.weight.empty()) r.first = k;
      r.weight.push_back(z_between * normal_density(d) / sd);
    }
    rows_.push_back(std::move(r));
  };
  for (std::size_t l = 0; l < likeness.size(); ++l) {
    const double share = likeness[l], chance = 1 / static_cast<double>(likeness.size());
    if (share == 0) {
      row(l, chance, 0, 1);
      continue;
    }
    // The product over the parts is no narrower in z_batch than this, and the law of z_batch itself is 1 wide.
    const double width = std::sqrt((1 - share) / share / static_cast<double>(parts));
    const double step = kBatchStep_widths * step_scale * std::min(1.0, width / std::hypot(1, width));
    const auto steps = static_cast<long>(std::ceil(kReach_z / step));
    for (long j = -steps; j <= steps; ++j) {
      const double z = step * static_cast<double>(j);
      row(l, chance * step * normal_density(z), std::sqrt(share) * z, std::sqrt(1 - share));
    }
  }
}

std::vector<double> BatchRule::project_back(const std::vector<double>& coefficients) const {
  std::vector<double> sums(nodes_.size(), 0);
  for (std::size_t j = 0; j < rows_.size(); ++j) {
    if (coefficients[j] == 0) continue;
    for (std::size_t i = 0; i < rows_[j].weight.size(); ++i)
      sums[rows_[j].first + i] += coefficients[j] * rows_[j].weight[i];
  }
  return sums;
}

}  // namespace rondure
