// What is known of the reading noise of one outline.
#pragma once
#include <span>
#include <vector>

#include "rondure/fit/form_radius.hpp"

namespace rondure {

struct NoiseKnowledge {
  std::vector<double> relative;  // sigma of each point over their root mean square; empty = all alike
  SigmaRange range;              // of that root mean square, in units of the radius
};

// The noise of a reading x,y before any is seen: ln sigma about ln middle, Student's law with 4 degrees of freedom; middle and
// spread are those of the instruments that read points (kind `points` of src/data/instruments.csv).
struct ReadingBelief {
  double middle_mm, spread;
};
const ReadingBelief& reading_belief();

// `ssq`, `unknowns`: of the best simple fit, to bound an unknown sigma where the readings show no step.
NoiseKnowledge noise_knowledge(std::span<const PartPoint> points, std::span<const double> sigma_mm, double radius_mm,
                               double ssq, int unknowns, const FormRadiusOptions& options);

}  // namespace rondure
