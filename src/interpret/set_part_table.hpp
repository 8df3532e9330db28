// One part of a set, tabulated over the nodes of its shrinkage.
#pragma once
#include <array>
#include <vector>

#include "set_posterior.hpp"
#include "set_shrinkage.hpp"

namespace rondure {

class PartTable {
public:
  using Drawings = std::vector<std::array<std::vector<GridSize>, 2>>;
  PartTable(const SetModel::Part& part, const Drawings& drawings, const std::array<double, 2>& system_chance,
            const BatchRule& rule, const std::vector<double>& s_ratio);

  // p(everything measured | shrinkage) per node, times exp(-log_scale()): with the sizes `chosen` for the
  // drawings that the part shares; nullptr: all its drawings its own.
  std::vector<double> sum_over_levels(std::size_t system, const std::vector<std::size_t>* chosen) const;
  // Adds weight per node times that, level by level.
  void add_masses(Posterior& masses, std::size_t system, const std::vector<std::size_t>* chosen,
                  const std::vector<double>& weight) const;
  // The evidence of the part as a stranger, same scale; and its masses, which sum to `weight`.
  double stranger_evidence() const { return stranger_evidence_; }
  void add_stranger(Posterior& masses, double weight, const std::array<double, 2>& system_chance) const;
  // Bounds of the logarithm of what the part contributes when the first drawings are chosen so: at its best
  // shrinkage, and on average over the law.
  struct Bounds {
    double best = 0, mean = 0;
  };
  Bounds log_bounds(std::size_t system, const std::vector<std::size_t>& chosen) const;
  double log_scale() const { return log_scale_; }
  Posterior empty_posterior(const std::array<double, 2>& system_chance) const;  // no mass

private:
  // ln likelihood of one drawn size over the nodes first .. first + value.size(); lower elsewhere.
  struct Curve {
    std::size_t first = 0;
    std::vector<double> value;
    double best = 0;
  };
  struct SharedFeature {
    std::size_t feature = 0, drawing = 0;
    std::array<std::vector<Curve>, 2> curves;  // [system][candidate * levels + level]
    std::array<double, 2> best{};
  };
  struct Level {
    std::vector<double> own, rest;                 // ln, with all features, and without those that share
    std::vector<std::vector<double>> per_feature;  // ln, per node
  };
  // Calls visit(node, value) for the terms of one level.
  template <class Visit>
  void visit(std::size_t system, std::size_t level, const std::vector<std::size_t>* chosen,
             Visit visit) const;
  void tabulate(std::size_t system);
  void tabulate_shared(std::size_t feature, std::size_t drawing, const Drawings& drawings);

  const SetModel::Part& part_;
  std::vector<double> s_, alone_;
  std::array<std::vector<Level>, 2> levels_;
  std::vector<SharedFeature> shared_;
  double log_scale_ = 0, stranger_evidence_ = 0;
};

}  // namespace rondure
