// The steps of measure_outline, each filling its part of the feature.
#pragma once
#include <span>
#include <vector>

#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/ovality.hpp"
#include "rondure/interpret/outline.hpp"

namespace rondure {

// The points that carry the fits, and the least-squares circle through them.
struct OutlineData {
  std::vector<PartPoint> used;
  std::vector<double> sigma_mm;  // of `used`; empty when not all are known
  std::vector<char> is_used;     // of all points
  std::vector<ExcludedSector> excluded;
  CircleFit circle;
};

Result<void> fit_and_exclude(OutlineData& data, std::span<const MeasuredPoint> points,
                             const OutlineOptions& options);
// The same where sectors were left out or taken in by hand (options.left_out, taken_in).
Result<void> fit_by_hand(OutlineData& data, std::span<const MeasuredPoint> points,
                         const OutlineOptions& options);
Result<void> add_circle(Feature& feature, const OutlineData& data, const OutlineOptions& options);
std::optional<OvalityEstimate> add_ellipse(Feature& feature, const OutlineData& data,
                                           const OutlineOptions& options);
// Harmonics, filtered roundness and the verdict on the form.
void add_shape(Feature& feature, const OutlineData& data, const std::optional<OvalityEstimate>& ovality,
               const OutlineOptions& options);
std::vector<ProfilePoint> profile_of(std::span<const MeasuredPoint> points, const OutlineData& data);

// Chords, overlays and two-point diameters by themselves.
Result<Feature> measure_without_points(const OutlineOptions& options);

Result<Feature> measure_two_points(const OutlineOptions& options);
// Uncertainties that a reading came without, from options.sigma_mm.
OutlineReading with_default_uncertainty(OutlineReading reading, const OutlineOptions& options);
// The radius that each of options.others gives alone. Errors: kBadArgument, kRadiusUndetermined, kNoAnswer (one without
// an uncertainty among several).
Result<std::vector<CombinedReading>> combined_readings(const OutlineOptions& options, bool two_point_too);
// Weights by curvature, whether they agree (chi-squared), and a warning when not.
Result<void> combine(Feature& feature, std::vector<CombinedReading> readings);

// Relative standard uncertainty of a diameter that does not come from the points: scale, edge, temperature, more; adds
// its lines to the budget.
double add_common_budget(std::vector<BudgetLine>& budget, double diameter_mm, const OutlineOptions& options);
// All lengths of the feature from the temperature of measuring to 20 C.
void bring_to_20_c(Feature& feature, const OutlineOptions& options);

FormRadiusOptions radius_options(const OutlineOptions& options, std::span<const double> sigma_mm);

}  // namespace rondure
