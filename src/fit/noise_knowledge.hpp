// What is known of the reading noise of one outline.
#pragma once
#include <algorithm>
#include <span>
#include <vector>

#include "rondure/fit/form_radius.hpp"

namespace rondure {

// Harmonics that stand free, from order 2, where points lie dense all round and neighbours share errors: as many as their number
// carries with 8 points a coefficient. Texture of form left in the residuals would pass for slow errors of the edge, and
// widen radius and ovality ten times. Where a sector is left out, no more than 5: free, the others would take any value in
// it. They are random there (texture_beside_a_gap, study_photo_form).
inline constexpr int kMostFreeOrders = 20, kFreeOrdersBesideAGap = 5;
inline constexpr std::size_t kLeastPointsForTexture = 120;
inline bool has_gap(std::size_t points, double coverage_rad) {
  constexpr double kTurn_rad = 6.283185307179586;  // 2 pi
  return kTurn_rad - coverage_rad > 4 * kTurn_rad / static_cast<double>(points);
}
inline bool texture_is_random(std::size_t points, double coverage_rad) {
  return points >= kLeastPointsForTexture && has_gap(points, coverage_rad);
}
inline int free_orders_of_dense_edge(std::size_t points, double coverage_rad) {
  return has_gap(points, coverage_rad)
             ? kFreeOrdersBesideAGap
             : std::clamp(static_cast<int>(points / 16), kFreeOrdersBesideAGap, kMostFreeOrders);
}

struct NoiseKnowledge {
  std::vector<double> relative;  // sigma of each point over their root mean square; empty = all alike
  SigmaRange range;              // of that root mean square, in units of the radius
};

// The noise s of a reading x,y before any is seen: every ln s alike from a third of what the finest instrument that
// reads points does to three times the coarsest (kind `points` of src/data/instruments.csv); beyond these Student's law
// with 4 degrees of freedom in ln s, `spread` wide. A belief with one middle would call a coarse reading of a large
// part form.
struct ReadingBelief {
  double least_mm, most_mm, spread;
};
// In between, the mass of ln s grows as s to this power: scatter that could be either is called noise, not form. Set by
// study_readings_coverage (12 readings with noise/R 3e-3: radius holds 89.6 % at 0, 92 to 95 % at 0.5). Ovality, with no random
// form beside the noise when it is not told, needs less.
inline constexpr double kNoiseOverForm = 0.5, kNoiseOverOval = 0.2;
// Where a gap leaves the ovality with random form beside the noise, more: else scatter of coarse readings is taken for that form
// (12 careless readings of a round part, noise/R 3e-3: called oval in 8 % with 0.2, 5 % with 0.8).
inline constexpr double kNoiseOverOvalBesideForm = 0.8;
// What the variance of radius and ovality is widened by where readings leave a gap: Bayes' interval holds in 95 % of all parts
// that are believed possible together, but less often for a kind whose form an arc only half shows (16 readings over 120 degrees,
// oval 0.5 %: 90 %; 12 over 180, three lobes: ovality 91 %; 24 over 240, many undulations: 92 %).
inline double half_seen_variance(double coverage_rad) {
  // Of the variance, over half a turn and less: by judgement, for the cells named above; study_readings_coverage (arcs)
  // checks what then holds.
  constexpr double kMost = 0.3;
  const double unseen = std::clamp(2 - coverage_rad / kPi, 0.0, 1.0);
  return 1 + kMost * unseen * unseen;
}
const ReadingBelief& reading_belief();

// `ssq`, `unknowns`: of the best simple fit, to bound an unknown sigma where the readings show no step.
NoiseKnowledge noise_knowledge(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                               double radius_mm, double ssq, int unknowns, const FormRadiusOptions& options);

}  // namespace rondure
