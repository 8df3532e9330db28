#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "rondure/making/inertia.hpp"
#include "rondure/making/material.hpp"

using namespace rondure;
using namespace rondure::plan;

namespace {
// Adaptive Simpson, an independent way to the integral.
double simpson(const std::function<double(double)>& f, double a, double b, double fa, double fm, double fb,
               double whole, double tolerance, int depth) {
  const double m = (a + b) / 2, l = f((a + m) / 2), r = f((m + b) / 2);
  const double left = (m - a) / 6 * (fa + 4 * l + fm), right = (b - m) / 6 * (fm + 4 * r + fb);
  if (depth == 0 || std::fabs(left + right - whole) < 15 * tolerance)
    return left + right + (left + right - whole) / 15;
  return simpson(f, a, m, fa, l, fm, left, tolerance / 2, depth - 1) +
         simpson(f, m, b, fm, r, fb, right, tolerance / 2, depth - 1);
}
double integral(const std::function<double(double)>& f, double a, double b, double tolerance) {
  const double fa = f(a), fm = f((a + b) / 2), fb = f(b);
  return simpson(f, a, b, fa, fm, fb, (b - a) / 6 * (fa + 4 * fm + fb), tolerance, 40);
}
constexpr double kRho = 8470;           // kg/m^3
constexpr double kRhoMm = kRho * 1e-6;  // g/mm^3
}  // namespace

TEST_CASE("inertia: disc, ring and cone by their closed forms", "[plan][inertia]") {
  const auto disc = mass_properties({{"disc", 4, 16, {}, {}, 0}}, kRho);
  REQUIRE(disc);
  CHECK(disc->inertia_g_mm2 == Approx(kPi * kRhoMm * 4 * std::pow(8, 4) / 2).epsilon(1e-14));
  CHECK(disc->mass_g == Approx(kPi * 64 * 4 * kRhoMm).epsilon(1e-14));
  const auto ring = mass_properties({{"ring", 4, 16, {}, {}, 6}}, kRho);
  CHECK(ring->inertia_g_mm2 ==
        Approx(kPi * kRhoMm * 4 * (std::pow(8, 4) - std::pow(3, 4)) / 2).epsilon(1e-14));
  // full cone: I = 3/10 m R^2
  const auto cone = mass_properties({{"cone", 9, 16, 1e-12, {}, 0}}, kRho);
  CHECK(cone->inertia_g_mm2 == Approx(0.3 * cone->mass_g * 64).epsilon(1e-9));
}

TEST_CASE("inertia: a crown as wide as its radius is a sphere, 2/5 m R^2", "[plan][inertia]") {
  const auto sphere = mass_properties({{"ball", 12, 12, {}, 6.0, 0}}, kRho);
  REQUIRE(sphere);
  CHECK(sphere->volume_mm3 == Approx(4.0 / 3 * kPi * 216).epsilon(1e-13));
  CHECK(sphere->inertia_g_mm2 == Approx(0.4 * sphere->mass_g * 36).epsilon(1e-13));
}

// Exact integral (pi rho / 2) int (R - Rc + sqrt(Rc^2 - z^2))^4 dz by adaptive Simpson; parabolic series of
// the trade facts (derived there), stated to be within 2e-4 for w <= R, Rc >= 4 R.
TEST_CASE("inertia: barrels against numerical quadrature and the parabolic series", "[plan][inertia]") {
  for (const double apex : {4.0, 6.25, 12.0})
    for (const double crown : {25.0, 60.0, 300.0, 1e6}) {
      const double width = 0.9 * apex;
      const auto m = mass_properties({{"barrel", width, 2 * apex, {}, crown, 0}}, kRho);
      REQUIRE(m);
      const auto fourth = [&](double z) {
        const double sag = z * z / (crown + std::sqrt(crown * crown - z * z));
        return std::pow(apex - sag, 4);
      };
      const double exact = kPi * kRhoMm / 2 * integral(fourth, -width / 2, width / 2, 1e-11);
      INFO("apex " << apex << " crown " << crown);
      CHECK(m->inertia_g_mm2 == Approx(exact).epsilon(1e-11));
      if (crown < 4 * apex) continue;
      const double q = 1 / (2 * crown), w = width, r = apex;
      const double series =
          kPi * kRhoMm / 2 *
          (std::pow(r, 4) * w - std::pow(r, 3) * q * std::pow(w, 3) / 3 +
           3 * r * r * q * q * std::pow(w, 5) / 40 - r * std::pow(q, 3) * std::pow(w, 7) / 112 +
           std::pow(q, 4) * std::pow(w, 9) / 2304);
      CHECK(m->inertia_g_mm2 == Approx(series).epsilon(2e-4));
    }
}

TEST_CASE("inertia: a stepped, flanged, bored roller is the sum of its steps", "[plan][inertia]") {
  const Profile roller = {
      {"left flange", 1, 16, {}, {}, 3}, {"rim", 8, 12.5, {}, 80.0, 3}, {"right flange", 1, 16, {}, {}, 3}};
  const auto whole = mass_properties(roller, kRho);
  REQUIRE(whole);
  double inertia = 0, mass = 0;
  for (const ProfileStep& s : roller) {
    const auto m = mass_properties({s}, kRho);
    inertia += m->inertia_g_mm2;
    mass += m->mass_g;
  }
  CHECK(whole->inertia_g_mm2 == Approx(inertia).epsilon(1e-14));
  CHECK(whole->mass_g == Approx(mass).epsilon(1e-14));
  // same shape scaled by 1.01: fifth power
  Profile larger = roller;
  for (ProfileStep& s : larger) {
    s.length_mm *= 1.01, s.outside_mm *= 1.01, s.bore_mm *= 1.01;
    if (s.crown_radius_mm) *s.crown_radius_mm *= 1.01;
  }
  CHECK(mass_properties(larger, kRho)->inertia_g_mm2 / whole->inertia_g_mm2 ==
        Approx(std::pow(1.01, 5)).epsilon(1e-12));
  // acetal to brass: 6.0 times, to aluminium 1.9 times (densities 1410, 8500, 2700)
  const auto acetal = mass_properties(roller, find_material("POM-C")->density_kg_m3);
  CHECK(mass_properties(roller, find_material("c360")->density_kg_m3)->inertia_g_mm2 /
            acetal->inertia_g_mm2 ==
        Approx(6.0).margin(0.05));
  CHECK(mass_properties(roller, find_material("aluminium")->density_kg_m3)->inertia_g_mm2 /
            acetal->inertia_g_mm2 ==
        Approx(1.9).margin(0.05));
}

TEST_CASE("inertia: shapes that cannot be are refused with the step's name", "[plan][inertia]") {
  for (const ProfileStep& bad : {ProfileStep{"rim", 0, 12, {}, {}, 3},
                                 {"rim", 4, -12, {}, {}, 3},
                                 {"rim", 4, 12, {}, {}, 12},
                                 {"rim", 4, 12, {}, 1.5, 0},
                                 {"rim", 8, 12, {}, 4.0, 5},
                                 {"rim", 4, 12, 8.0, 80.0, 3},
                                 {"rim", 4, 12, 2.0, {}, 3},
                                 {"rim", std::nan(""), 12, {}, {}, 3}}) {
    const auto r = mass_properties({bad}, kRho);
    REQUIRE_FALSE(r);
    CHECK(r.error().code == ErrorCode::kBadArgument);
    CHECK(r.error().detail.find("'rim'") != std::string::npos);
  }
  CHECK_FALSE(mass_properties({}, kRho).has_value());
}

// Source: equilibrium of half a thin ring, hoop stress rho v^2 (any mechanics text); Timoshenko's disc, from
// memory.
TEST_CASE("centrifugal stress: thin ring, mean over the section, twice the solid disc at a pin hole",
          "[plan][inertia]") {
  const double rpm = 3000, nu = 0.3;
  const double v = 2 * kPi * rpm / 60 * 0.050;  // m/s at r = 50 mm
  CHECK(rotating_hoop_stress_MPa(99.98, 100, 7850, nu, rpm) == Approx(7850 * v * v * 1e-6).epsilon(1e-3));
  CHECK(rotating_mean_hoop_MPa(99.98, 100, 7850, rpm) == Approx(7850 * v * v * 1e-6).epsilon(1e-3));
  CHECK(rotating_hoop_stress_MPa(1e-6, 100, 7850, nu, rpm) ==
        Approx(2 * rotating_hoop_stress_MPa(0, 100, 7850, nu, rpm)).epsilon(1e-9));
  // mean hoop stress by integrating the elastic field equals the equilibrium of the half disc
  const double a = 5, b = 50, w2 = std::pow(2 * kPi * rpm / 60, 2);
  const auto hoop = [&](double r) {
    return 7850 * w2 * 1e-12 *
           ((3 + nu) / 8 * (a * a + b * b + a * a * b * b / (r * r)) - (1 + 3 * nu) / 8 * r * r);
  };
  CHECK(rotating_hoop_stress_MPa(2 * a, 2 * b, 7850, nu, rpm) == Approx(hoop(a)).epsilon(1e-12));
  CHECK(rotating_mean_hoop_MPa(2 * a, 2 * b, 7850, rpm) ==
        Approx(integral(hoop, a, b, 1e-12) / (b - a)).epsilon(1e-9));
}

TEST_CASE("rotor change: corner of belt and rotor, and the limits of its low pass", "[plan][inertia]") {
  Drive d;
  d.belt_stiffness_N_mm = 2;
  d.belt_radius_mm = 6;
  d.ripple_hz = 50;
  const auto c = rotor_change(40, 240, d);
  CHECK(c.inertia_ratio == Approx(6));
  // k r^2 = 0.072 N m, I = 40e-9 kg m^2
  CHECK(*c.corner_old_hz == Approx(std::sqrt(0.072 / 40e-9) / (2 * kPi)));
  CHECK(*c.corner_old_hz / *c.corner_new_hz == Approx(std::sqrt(6.0)));
  d.ripple_hz = 1e5;
  const auto far = rotor_change(40, 240, d);
  CHECK(*far.ripple_new_ratio / *far.ripple_old_ratio == Approx(far.ripple_ratio_far_above).epsilon(1e-3));
  d.ripple_hz = 0.01;
  CHECK(*rotor_change(40, 240, d).ripple_new_ratio == Approx(1).epsilon(1e-6));
  d.ripple_hz = *c.corner_new_hz * 1.1;
  const auto near = rotor_change(40, 240, d);
  CHECK(near.near_resonance);
  CHECK_FALSE(near.ripple_new_ratio);
  d.rest_g_mm2 = 160;
  CHECK(rotor_change(40, 240, d).inertia_ratio == Approx(2));
}
