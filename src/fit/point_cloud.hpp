// Where the points lie and how they spread: centring and scaling for the fits, and the refusals that need no
// fit.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct PointCloud {
  Eigen::Vector2d reference{0, 0};               // near the points; subtracted first
  Eigen::Vector2d mean{0, 0};                    // weighted mean, relative to the reference
  double scale_mm = 0;                           // root mean square distance from the mean
  Eigen::Vector2d long_axis{1, 0};               // direction of the largest spread
  double long_variance = 0, short_variance = 0;  // mm^2
};

// The points as seen (weights empty = all 1). `step`: every step-th point only.
PointCloud survey(std::span<const PartPoint> points, std::span<const double> weights, std::size_t step = 1);

// Weights 1/sigma^2. Errors: kBadArgument when the count differs or a sigma is not positive and finite.
Result<std::vector<double>> weights_of(std::span<const PartPoint> points, std::span<const double> sigma_mm);

// Number of distinct points, counted up to `enough`.
int count_distinct(std::span<const PartPoint> points, int enough);

// What makes a fit of `needed` distinct points impossible: kNotFinite, kTooFewPoints, kCollinear (to the
// rounding of the input); nothing when the points can be fitted.
std::optional<Error> refusal(std::span<const PartPoint> points, const PointCloud& cloud, int needed);

// What every fit begins with: the weights, and the points seen through every step-th of them where they are
// many. Errors: kTooFewPoints, kBadArgument, and those of refusal().
struct SurveyedPoints {
  std::vector<double> weights;  // empty = all 1
  PointCloud cloud;
  std::size_t step = 1;
};
Result<SurveyedPoints> surveyed(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                                int needed);

}  // namespace rondure
