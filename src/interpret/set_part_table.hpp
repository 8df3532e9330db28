// One part of a set, tabulated over the nodes of its shrinkage and the habits of the designer.
#pragma once
#include <array>
#include <memory>
#include <vector>

#include "set_posterior.hpp"
#include "set_tables.hpp"

namespace rondure {

inline Eigen::Index index(std::size_t i) { return static_cast<Eigen::Index>(i); }

// Of each unit system's habits, the indices of those that are kept.
using KeptHabits = std::array<std::vector<Eigen::Index>, 2>;

// Mass of one part, per unit system and level of care.
using PartMasses = std::array<std::vector<HabitTable>, 2>;

// Per drawing and system, in ascending order, the sizes of the drawing that are worth summing over.
using WorthTabulating = std::vector<std::array<std::vector<std::size_t>, 2>>;

class PartTable {
public:
  // Without what it says of the shared drawings: tabulate_drawings.
  PartTable(const SetModel& model, std::size_t part, const BatchRule& rule,
            const std::vector<double>& s_ratio);
  void tabulate_drawings(const WorthTabulating& worth);
  // For some of the habits only; the evidence of the part as a stranger stays that of all.
  PartTable narrowed(const KeptHabits& kept) const;

  // p(everything measured | shrinkage, habit), times exp(-log_scale()), all drawings of the part its own.
  const HabitTable& own(std::size_t system, std::size_t level) const { return levels_[system][level].own; }
  HabitTable own(std::size_t system) const;
  // The same with the sizes `chosen` for the drawings that the part shares (one index a drawing).
  void belonging(std::size_t system, const std::vector<std::size_t>& chosen, NodeTable& sum) const;
  // Of the sizes chosen, those that the part shares.
  std::vector<std::size_t> own_sizes(const std::vector<std::size_t>& chosen) const;
  // Where that is not 0.
  NodeRange nodes_of(std::size_t system, const std::vector<std::size_t>& chosen) const;
  // An upper bound of it, whatever is chosen.
  HabitTable belonging_at_most(std::size_t system) const;
  // Adds back * that to the masses, level by level; returns what was added, and how much of it is worn.
  struct Added {
    double all = 0, worn = 0;
  };
  Added add_belonging(PartMasses& masses, std::size_t system, const std::vector<std::size_t>& chosen,
                      const NodeTable& back) const;
  void add_own(PartMasses& masses, std::size_t system, const HabitTable& back) const;
  // The evidence of the part as a stranger, same scale; and its masses, which sum to `weight` (not when narrowed).
  double stranger_evidence() const { return stranger_evidence_; }
  PartMasses stranger(double weight) const;
  // Bounds of the logarithm of what the part contributes when the first drawings are chosen so, for any habit: at
  // its best shrinkage, and on average over the law.
  struct Bounds {
    double best = 0, mean = 0;
  };
  Bounds log_bounds(std::size_t system, const std::vector<std::size_t>& chosen) const;
  // Of a drawing that the part shares with one feature, before it is tabulated: what log_bounds says of one size, and
  // bounds of its best for all of them.
  Bounds log_bounds_of_size(std::size_t system, std::size_t drawing, std::size_t size) const;
  std::vector<double> log_most_of_sizes(std::size_t system, std::size_t drawing) const;
  double log_scale() const { return log_scale_; }
  void rescale(double factor);
  PartMasses no_mass() const;
  // The posterior over unit system, level and shrinkage from masses, of this table or narrowed, that together sum to 1.
  Posterior posterior(const PartMasses& a, const PartMasses& b) const;
  // What the masses of a narrowed table and of the part as a stranger say of one feature's own sizes.
  FeatureSpread spread(std::size_t feature, const PartTable& narrow, const PartMasses& masses,
                       const PartMasses& stranger) const;

private:
  // Likelihood of one drawn size over the nodes range.first .. range.last; nothing elsewhere.
  struct Curve {
    NodeRange range;
    const double* value = nullptr;
  };
  struct SharedFeature {
    std::size_t feature = 0, drawing = 0;
    std::array<std::vector<Curve>, 2> curves;         // [system][candidate * levels + level]
    std::array<std::vector<double>, 2> values;        // of all curves
    std::array<std::vector<Eigen::ArrayXd>, 2> most;  // [system][level]: the largest of all curves
  };
  struct Level {
    HabitTable own, rest;                 // with all features, and without those that share
    Eigen::ArrayXd rest_most, rest_mean;  // the largest over the habits; times the law of the part by itself
    double own_most = 0;                  // the largest of all
    std::vector<std::vector<double>> shift;  // per feature and node, of
    std::vector<Eigen::MatrixXd> evidence;   // per feature: nodes x grids
    void find_most(const std::vector<double>& alone);
  };
  void tabulate(std::size_t system);
  class LogCurves;
  void tabulate_curves(std::size_t system, std::size_t level, const std::vector<std::size_t>& worth,
                       SharedFeature& shared) const;
  SharedFeature tabulate_shared(std::size_t feature, std::size_t drawing,
                                const std::array<std::vector<std::size_t>, 2>& worth) const;
  // ln of what the part contributes, from what it does as one that belongs.
  double log_with_odd(std::size_t system, double belonging) const;
  void scale_levels();
  std::size_t habits(std::size_t system) const { return static_cast<std::size_t>(weights_[system].cols()); }
  std::size_t levels() const { return part_.model.level_chance.size(); }
  // Adds, node by node, the masses of a level; and of its grids, each divided by what a size of it is worth.
  void add_masses(std::size_t feature, std::size_t system, std::size_t level, const PartMasses& masses,
                  Eigen::ArrayXd& mass, Eigen::MatrixXd& of_grids) const;
  // Product of the curves of the drawings chosen so far at one level; in `room` unless it is a curve itself.
  Curve product_of_curves(std::size_t system, std::size_t level, const std::vector<std::size_t>& chosen,
                          std::vector<double>& room) const;
  // The share of it, node by node of its range, with none of the surfaces worn; empty: all of it.
  std::vector<double> unworn_share(std::size_t system, std::size_t level,
                                   const std::vector<std::size_t>& chosen, NodeRange range) const;
  PartTable(const PartTable& all, const KeptHabits& kept);

  const SetModel& model_;
  const SetModel::Part& part_;
  std::vector<double> s_, alone_;
  std::array<Eigen::MatrixXd, 2> weights_;           // grids x habits
  std::array<std::vector<double>, 2> chance_;        // of each habit
  std::vector<std::array<GridMembers, 2>> members_;  // per feature
  std::array<std::vector<Level>, 2> levels_;
  std::shared_ptr<const std::vector<SharedFeature>> shared_;  // one for all narrowed tables
  double log_scale_ = 0, stranger_evidence_ = 0;
};

}  // namespace rondure
