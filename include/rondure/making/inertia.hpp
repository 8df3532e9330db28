// Volume, mass and moment of inertia of a turned part about its axis, and what turning does to it.
//
// The part is a row of steps along the axis: cylinder, cone, or crowned (an arc of radius crown_radius_mm
// whose largest diameter outside_mm is in the middle of the step), each with its bore. Exact for these shapes
// (derived):
//   V = pi int (R^2 - a^2) dz,  I = (pi rho / 2) int (R^4 - a^4) dz
// by polynomials, for the crown by Gauss-Legendre in the arc's angle, where the integrand is entire: relative
// error below 1e-12 for any crown up to the full sphere. Lengths mm, densities kg/m^3, mass g, inertia g
// mm^2.
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"

namespace rondure::plan {

struct ProfileStep {
  std::string name;  // "rim", "left flange"; free text
  double length_mm = 0;
  double outside_mm = 0;                  // diameter; of a cone at its left end; of a crown in the middle
  std::optional<double> end_outside_mm;   // cone: diameter at the right end
  std::optional<double> crown_radius_mm;  // crown: at least half the step's length
  double bore_mm = 0;                     // 0 = solid
  // Names of the planned sizes that these dimensions are, and whose limits they have; empty: as listed.
  std::string outside_size = {}, width_size = {}, bore_size = {};
  // Of that width, which goes to the sharp corners, in the broken edges before and after: steps of their own.
  std::optional<double> edge_before_mm = {}, edge_after_mm = {};
  double in_edges_mm() const { return edge_before_mm.value_or(0) + edge_after_mm.value_or(0); }
};
using Profile = std::vector<ProfileStep>;

// Steps from a CSV with the header name,length,outside,end_outside,crown_radius,bore,unit, left to right.
// `outside` blank: 0, `bore` blank: -1, both to be filled from a plan. Errors: kBadLine (which line, what was
// found).
Result<Profile> parse_steps(std::string_view csv, LengthUnit bare = LengthUnit::kMm);

struct MassProperties {
  double volume_mm3 = 0;
  double mass_g = 0, inertia_g_mm2 = 0;
};
// Errors: kBadArgument (a length or diameter that cannot be, with the step's name).
Result<MassProperties> mass_properties(const Profile& profile, double density_kg_m3);

// Largest hoop stress of a ring of radii a < b (a = 0: solid disc) turning at omega, thin disc, elastic
// (Timoshenko, Strength of Materials II, from memory): (3 + nu)/4 rho w^2 (b^2 + (1 - nu)/(3 + nu) a^2) at
// the bore, (3 + nu)/8 rho w^2 b^2 at the middle of a solid disc. MPa.
double rotating_hoop_stress_MPa(double bore_mm, double outside_mm, double density_kg_m3, double poisson_ratio,
                                double speed_rpm);
// Mean hoop stress over the section, which decides bursting of ductile discs (mean-stress criterion, from
// memory): rho w^2 (b^3 - a^3) / (3 (b - a)). MPa.
double rotating_mean_hoop_MPa(double bore_mm, double outside_mm, double density_kg_m3, double speed_rpm);

// What another rotor does to the drive. The belt (stiffness k_b N/mm at radius r) with the inertia is a low
// pass with its corner at f0 = sqrt(k_b r^2 / I)/(2 pi); far above it speed ripple falls as 1/I, at any
// stiffness.
struct RotorChange {
  double inertia_ratio = 1;     // (new + rest) / (old + rest)
  double start_time_ratio = 1;  // at the same torque
  double ripple_ratio_far_above = 1;
  std::optional<double> corner_old_hz, corner_new_hz;
  std::optional<double> ripple_old_ratio,
      ripple_new_ratio;  // speed ripple out over in at the asked frequency, undamped
  bool near_resonance =
      false;  // the asked frequency within a factor 1.5 of the new corner: undamped figures not valid
};
struct Drive {
  double rest_g_mm2 = 0;                      // what else turns with the part: shaft, wheel
  std::optional<double> belt_stiffness_N_mm;  // of the whole belt run at the part
  double belt_radius_mm = 0;                  // of the part, at the middle of the belt
  std::optional<double> ripple_hz;
};
RotorChange rotor_change(double old_g_mm2, double new_g_mm2, const Drive& drive);

}  // namespace rondure::plan
