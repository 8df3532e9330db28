// A hub pressed on a shaft: how much interference, how likely that it leaves its limits, what it does to the
// hub.
//
// Stresses: thick cylinders after Lame, plane stress, elastic; hub of bore d and outside D on a solid shaft
// of diameter d. With k = d/D and diametral interference i (Timoshenko, Strength of Materials II; Shigley,
// Mechanical Engineering Design, section on press fits; both from memory):
//   p = (i/d) / [ (1/E_h) ((1 + k^2)/(1 - k^2) + nu_h) + (1/E_s)(1 - nu_s) ]
//   hoop stress at the bore p (1 + k^2)/(1 - k^2); von Mises there sqrt(h^2 + h p + p^2) with h the hoop
//   stress.
// With a rigid shaft and i/d = s this is a plastic ring that shrinks by s onto its shaft. Breaks down: where
// the equivalent stress passes the yield stress (the true pressure is then lower and the fit works once), for
// thin rings that buckle, and for hubs that end in a web of another diameter. Lengths mm, stresses MPa,
// forces N, torque N mm.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/making/material.hpp"

namespace rondure::plan {

struct HubStress {
  double interference_mm = 0;
  double pressure_MPa = 0, hoop_MPa = 0, von_mises_MPa = 0;
  double hoop_strain_ratio = 0;  // of the bore
  double growth_outside_mm = 0;  // of the hub's outside diameter
};

struct ElasticHub {
  double bore_mm = 0, outside_mm = 0;
  double young_hub_MPa = 0, poisson_hub = 0;
  double young_shaft_MPa = 0, poisson_shaft = 0;  // young 0 = rigid shaft
};
// Errors: kBadArgument (bore not inside the hub, no stiffness). An interference of 0 or less gives no stress.
Result<HubStress> hub_stress(const ElasticHub& hub, double interference_mm);

// Interference = shaft - bore, shaft ~ normal(value, u), bore uniform between its limits (what a maker who
// only keeps to limits promises). Exact convolution, no sampling.
struct FitChance {
  Interval interference_mm;  // the extremes: bore at its limits, shaft at +- 2 u
  double mean_interference_mm = 0;
  double p_loose = 0;  // interference below 0
  double p_below = 0;  // under the wanted range
  double p_above = 0;  // over the wanted range
};
FitChance chance_of_fit(Estimate shaft_mm, Interval bore_limits_mm, Interval wanted_interference_mm);

// Pressing smooths the ridges of both surfaces: DIN 7190-1 takes 0.8 (Rz of bore + Rz of shaft) off the
// diametral interference (from memory).
inline constexpr double kSmoothing = 0.8;
// Friction for the holding force, dry metal on metal: low end of the usual 0.1 to 0.15 (from memory).
inline constexpr double kFriction = 0.1;

struct PressFitCase {
  Estimate shaft_mm;
  Interval bore_limits_mm;
  double hub_outside_mm = 0, hub_length_mm = 0;  // length 0 = not known: no force given
  Material hub, shaft;
  double roughness_rz_mm = 0.004;  // sum of both surfaces: reamed bore about 3 um, ground shaft about 1 um
};

struct PressFitResult {
  HubStress least, mean, most;          // at the extremes and the mean of the interference
  std::optional<double> yield_margin;   // yield stress over von Mises at the most; under 1 = the bore yields
  std::optional<double> strain_margin;  // plastics: lasting strain over hoop strain at the most
  double holding_interference_mm = 0;   // least, less smoothing, not below 0
  std::optional<double>
      holding_force_N;  // to slide along the shaft: mean interference less smoothing, pressure
                        // no higher than at first yield, p_y = yield (1 - k^2)/sqrt(3 + k^4)
  std::optional<double> holding_torque_Nmm;
  std::optional<double> left_1000h_ratio;
  double loss_per_40K_mm = 0;     // interference lost when 40 K warmer (negative = gained)
  std::vector<Warning> warnings;  // "yields", "cracks", "creeps", "may-be-loose", "warm-loose"
};
// At the loosest nothing is left to hold it: "may-be-loose".
inline bool may_be_loose(const PressFitResult& r) { return r.holding_interference_mm <= 0; }

// Errors: kBadArgument.
Result<PressFitResult> press_fit(const PressFitCase& c);

}  // namespace rondure::plan
