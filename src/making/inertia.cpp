#include "rondure/making/inertia.hpp"

#include <cmath>
#include <cstdio>

#include "rondure/core/gauss_legendre.hpp"

namespace rondure::plan {
namespace {

// Integrals of R^2 and R^4 over the length of a step.
struct Powers {
  double second = 0, fourth = 0;
};

// z = Rc sin(phi): R = apex - 2 Rc sin^2(phi/2), dz = Rc cos(phi) dphi. No difference of large numbers.
Powers crown_powers(double apex_mm, double crown_mm, double length_mm) {
  const double top = std::asin(std::fmin(1.0, length_mm / 2 / crown_mm));
  // Within 1e-11 of another quadrature, and of a sphere's closed form (tests/making/test_inertia.cpp).
  constexpr int kPanels = 4;
  constexpr std::size_t kNodes = 10;
  static const GaussLegendre<int(kNodes)> rule;
  Powers sum;
  for (int panel = 0; panel < kPanels; ++panel) {
    const double from = top * panel / kPanels, half = top / kPanels / 2;
    for (std::size_t i = 0; i < kNodes; ++i) {
      const double phi = from + half * (1 + rule.node[i]);
      const double radius = apex_mm - 2 * crown_mm * std::pow(std::sin(phi / 2), 2);
      const double dz = 2 * rule.weight[i] * half * crown_mm * std::cos(phi);  // both sides of the middle
      sum.second += radius * radius * dz;
      sum.fourth += std::pow(radius, 4) * dz;
    }
  }
  return sum;
}

Powers cone_powers(double a_mm, double b_mm, double length_mm) {
  const double a2 = a_mm * a_mm, b2 = b_mm * b_mm, ab = a_mm * b_mm;
  return {length_mm * (a2 + ab + b2) / 3, length_mm * (a2 * a2 + a2 * ab + a2 * b2 + ab * b2 + b2 * b2) / 5};
}

double smallest_radius_mm(const ProfileStep& s) {
  if (s.crown_radius_mm) {
    const double half = s.length_mm / 2;
    return s.outside_mm / 2 -
           half * half /
               (*s.crown_radius_mm +
                std::sqrt(std::fmax(0.0, *s.crown_radius_mm * *s.crown_radius_mm - half * half)));
  }
  return std::fmin(s.outside_mm, s.end_outside_mm.value_or(s.outside_mm)) / 2;
}

constexpr double kLargest_mm = 1e4;  // more is a slip of the unit

Result<void> check(const ProfileStep& s) {
  const auto bad = [&](const char* needed) {
    char buffer[240];
    std::snprintf(buffer, sizeof buffer, "step '%.60s': length %.4g, outside %.4g, bore %.4g mm; needed %s",
                  s.name.c_str(), s.length_mm, s.outside_mm, s.bore_mm, needed);
    return Error{ErrorCode::kBadArgument, buffer};
  };
  const auto sensible = [](double mm) { return mm > 0 && mm < kLargest_mm; };
  if (!(sensible(s.length_mm) && sensible(s.outside_mm) && sensible(s.end_outside_mm.value_or(s.outside_mm))))
    return bad("a length and an outside over 0, below 10 m");
  if (s.crown_radius_mm && s.end_outside_mm) return bad("a cone or a crown, not both");
  if (s.crown_radius_mm && !(*s.crown_radius_mm >= s.length_mm / 2 && std::isfinite(*s.crown_radius_mm)))
    return bad("a crown radius of at least half the length");
  if (!(s.bore_mm == 0 || (s.bore_mm > 0 && s.bore_mm / 2 < smallest_radius_mm(s))))
    return bad("a bore smaller than the outside");
  return {};
}

double omega(double rpm) { return rpm * 2 * kPi / 60; }
constexpr double kMetre2PerMm2 = 1e-6, kMegapascal = 1e-6;  // m^2 in a mm^2; MPa in a Pa

}  // namespace

Result<MassProperties> mass_properties(const Profile& profile, double density_kg_m3) {
  if (profile.empty() || !(density_kg_m3 > 0))
    return Error{ErrorCode::kBadArgument, "needed at least one step and a density over 0"};
  MassProperties m;
  double fourth = 0;
  for (const ProfileStep& s : profile) {
    if (const auto ok = check(s); !ok) return ok.error();
    const Powers p =
        s.crown_radius_mm
            ? crown_powers(s.outside_mm / 2, *s.crown_radius_mm, s.length_mm)
            : cone_powers(s.outside_mm / 2, s.end_outside_mm.value_or(s.outside_mm) / 2, s.length_mm);
    const double a2 = s.bore_mm * s.bore_mm / 4;
    m.volume_mm3 += kPi * (p.second - a2 * s.length_mm);
    fourth += p.fourth - a2 * a2 * s.length_mm;
  }
  const double density_g_mm3 = density_kg_m3 * 1e-6;
  m.mass_g = density_g_mm3 * m.volume_mm3;
  m.inertia_g_mm2 = kPi * density_g_mm3 / 2 * fourth;
  return m;
}

double rotating_hoop_stress_MPa(double bore_mm, double outside_mm, double density_kg_m3, double nu,
                                double speed_rpm) {
  const double a2 = bore_mm * bore_mm / 4, b2 = outside_mm * outside_mm / 4;
  const double rim =
      density_kg_m3 * std::pow(omega(speed_rpm), 2) * kMetre2PerMm2 * kMegapascal;  // MPa per mm^2
  if (bore_mm <= 0) return (3 + nu) / 8 * rim * b2;
  return (3 + nu) / 4 * rim * (b2 + (1 - nu) / (3 + nu) * a2);
}

double rotating_mean_hoop_MPa(double bore_mm, double outside_mm, double density_kg_m3, double speed_rpm) {
  const double a = bore_mm / 2, b = outside_mm / 2;
  return density_kg_m3 * std::pow(omega(speed_rpm), 2) * (b * b + a * b + a * a) / 3 * kMetre2PerMm2 *
         kMegapascal;
}

RotorChange rotor_change(double old_g_mm2, double new_g_mm2, const Drive& drive) {
  RotorChange c;
  const double before = old_g_mm2 + drive.rest_g_mm2, after = new_g_mm2 + drive.rest_g_mm2;
  c.inertia_ratio = c.start_time_ratio = after / before;
  c.ripple_ratio_far_above = before / after;
  if (!drive.belt_stiffness_N_mm || drive.belt_radius_mm <= 0) return c;
  // k r^2: N/mm mm^2 = N mm = 1e-3 N m; I: g mm^2 = 1e-9 kg m^2.
  const double torsion_N_m = *drive.belt_stiffness_N_mm * drive.belt_radius_mm * drive.belt_radius_mm * 1e-3;
  const auto corner = [&](double i) { return std::sqrt(torsion_N_m / (i * 1e-9)) / (2 * kPi); };
  c.corner_old_hz = corner(before);
  c.corner_new_hz = corner(after);
  if (!drive.ripple_hz) return c;
  const auto ripple = [&](double f0) { return 1 / std::fabs(1 - std::pow(*drive.ripple_hz / f0, 2)); };
  const double q = *drive.ripple_hz / *c.corner_new_hz;
  c.near_resonance = q > 1 / 1.5 && q < 1.5;
  if (!c.near_resonance) c.ripple_new_ratio = ripple(*c.corner_new_hz);
  const double q_old = *drive.ripple_hz / *c.corner_old_hz;
  if (!(q_old > 1 / 1.5 && q_old < 1.5)) c.ripple_old_ratio = ripple(*c.corner_old_hz);
  return c;
}

}  // namespace rondure::plan
