// The sums behind infer_set: see the model in rondure/interpret/original_set.hpp.
#pragma once
#include <array>
#include <functional>
#include <optional>
#include <vector>

#include "designer_habits.hpp"
#include "feature_spread.hpp"
#include "original_posterior.hpp"

namespace rondure {

struct SetModel {
  struct Part {
    PartModel model;
    std::vector<std::optional<std::size_t>> drawing;  // per feature: index of what it shares
    std::vector<std::optional<ShapeReading>>
        worn;               // per feature: how it would read if it belongs but is worn
    std::size_t batch = 0;  // no matter for an exact law
    double chance_other_drawing = 0, chance_stranger = 0;
    bool shares() const;
  };
  struct Tie {
    std::size_t drawing_a = 0, drawing_b = 0;
    Estimate ratio;
    double belt_mm = 0;
  };
  std::vector<Part> parts;
  std::size_t batches = 0;
  SizeGrids grids;
  std::vector<Habit> habits;                                   // of the designer; their chances sum to 1
  std::vector<std::array<std::vector<GridSize>, 2>> drawings;  // candidates of each, per system
  std::vector<Tie> ties;
  std::vector<double> likeness;
  double step_scale = 1;
};

struct SetPosterior {
  double log_evidence = 0;
  std::array<double, 2> system{};
  std::vector<double> habit;  // of each habit
  struct Part {
    Posterior all;  // masses over unit system, level and shrinkage; they sum to 1
    double p_other_drawing = 0, p_stranger = 0, p_worn = 0;
    double chance_odd() const { return p_other_drawing + p_stranger + p_worn; }
    // Per feature its own sizes; of one that shares a drawing only as far as the part does not belong.
    std::vector<FeatureSpread> own;
    // Per feature that shares a drawing: mass of each candidate of the drawing, the part belonging.
    std::vector<std::array<std::vector<double>, 2>> drawn;
  };
  std::vector<Part> parts;
  // Of a further part of each batch.
  struct Batch {
    std::vector<double> s_ratio, mass;
    double likeness = 0;
  };
  std::vector<Batch> batches;
};

// What may be left out of the sums, of all mass.
inline constexpr double kNeglected = 1e-9;

// `tell` is told how much is done, 0 to 1. Errors: kNoAnswer.
Result<SetPosterior> integrate(const SetModel& model, const std::function<void(double)>& tell = {});

}  // namespace rondure
