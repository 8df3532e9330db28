// The sums behind infer_set: see the model in rondure/interpret/original_set.hpp.
#pragma once
#include <array>
#include <optional>
#include <vector>

#include "original_posterior.hpp"

namespace rondure {

struct SetModel {
  struct Part {
    PartModel model;
    std::vector<std::optional<std::size_t>> drawing;  // per feature: index of what it shares
    std::size_t batch = 0;                            // no matter for an exact law
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
  std::vector<std::array<std::vector<GridSize>, 2>> drawings;  // candidates of each, per system
  std::vector<Tie> ties;
  std::array<double, 2> system_chance = {0.5, 0.5};
  std::vector<double> likeness;
  double step_scale = 1;
};

struct SetPosterior {
  double log_evidence = 0;
  std::array<double, 2> system{};
  struct Part {
    Posterior all;  // masses over unit system, level and shrinkage; they sum to 1
    Posterior odd;  // the share of them in which the part does not share its drawings
    double p_other_drawing = 0, p_stranger = 0;
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

// Errors: kNoAnswer.
Result<SetPosterior> integrate(const SetModel& model);

}  // namespace rondure
