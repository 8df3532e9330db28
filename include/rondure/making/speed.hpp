// What the outline of a pulley or roller does to the speed of a belt, tape or film that runs on it.
//
// The belt leaves along a tangent, so its speed is omega p(psi) with p the support function of the outline's
// convex hull about the axis of rotation (derived; Minkowski's support function). Half the belt thickness is
// added: the neutral line runs there. By Cauchy's formula the mean of p over a turn is P/(2 pi), P the
// perimeter of the hull: the circumference diameter (ISO 14405-1 (CC)) plus belt thickness sets the ratio. To
// first order: eccentricity e gives +- 2 e/(D + t) once a turn (TIR = 2 e), ovality Dmax - Dmin gives
// +- (Dmax - Dmin)/(2 (D + t)) twice, a lobe of amplitude c gives +- 2 c/(D + t) n times.
// Breaks down: soft belts that sink in, wraps that slip, a belt wider than the track. Lengths mm, ratios of
// speed.
#pragma once
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"

namespace rondure::plan {

struct SpeedHarmonic {
  int per_turn = 0;
  double amplitude_ratio = 0;  // peak, of the mean speed
};

struct SpeedEffect {
  double circumference_diameter_mm = 0;         // hull perimeter over pi
  double running_diameter_mm = 0;               // that plus the belt thickness
  double peak_ratio = 0;                        // half of (fastest - slowest) over the mean
  double fastest_ratio = 0, slowest_ratio = 0;  // against the mean, signed
  double rms_ratio = 0;
  std::vector<SpeedHarmonic> harmonics;  // 1 to 12 per turn
};

// Support function of the convex hull of the points about the origin, at `count` even directions from 0.
// Exact for the polygon of the points.
std::vector<double> support_mm(std::span<const PartPoint> outline, int count);

// The outline as a closed set of points about the axis of rotation (the origin). At least 3 points that
// surround the axis; belt_thickness_mm >= 0. Errors: kTooFewPoints, kBadArgument (the axis lies outside).
Result<SpeedEffect> speed_effect(std::span<const PartPoint> outline, double belt_thickness_mm);

// The outline that a measured feature describes, about an axis that lies at `axis_from_center` of its
// least-squares centre: mean radius, the harmonics that stand out of their noise (amplitude over 2 u; ovality
// where none are given and the part is not likely round), raised nibs that the fit excluded as they are,
// recesses bridged. Even angles, `count` of them. Errors: kNoAnswer (the feature has no circle).
Result<std::vector<PartPoint>> outline_of(const Feature& feature, PartPoint axis_from_center = {},
                                          int count = 7200);

// Speed limits of a part made to a drawing: diameter between limits, circular run-out (TIR) and roundness
// (radial width of the zone) at their worst together.
struct PlannedSpeed {
  Interval mean_error_ratio;  // against a part of the intended diameter
  double eccentric_ratio = 0, form_ratio = 0,
         peak_ratio = 0;  // once a turn, form (an oval uses the whole zone), sum
};
PlannedSpeed planned_speed(double intended_mm, Interval diameter_limits_mm, double run_out_mm,
                           double roundness_mm, double belt_thickness_mm);

// The diameter tolerance (+-, mm), run-out (TIR) and roundness that keep a wanted speed error and a wanted
// peak variation; the variation is shared evenly between run-out and form.
struct SpeedTolerances {
  double diameter_pm_mm = 0, run_out_mm = 0, roundness_mm = 0;
};
SpeedTolerances tolerances_for_speed(double diameter_mm, double belt_thickness_mm, double speed_error_ratio,
                                     double variation_ratio);

// Audible weight of a speed variation of this rate (IEC 60386, table from memory: for ranking only), as a
// factor of amplitude, 1 at 4 Hz. Interpolated in the logarithm of the rate; absent outside 0.1 to 200 Hz.
std::optional<double> audible_weight(double rate_hz);

}  // namespace rondure::plan
