#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "rondure/making/press_fit.hpp"
#include "trade_table.hpp"

using namespace rondure;
using namespace rondure::plan;

// Source: ring_on_shaft.csv: derived, and checked there against a finite-difference solution of the elastic
// ring to 2e-5.
TEST_CASE("press fit: a ring on a rigid shaft as the finite-difference solution has it", "[plan][press]") {
  const auto rows = trade_table("ring_on_shaft.csv");
  int checked = 0;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const double k = std::stod(rows[i][0]), nu = std::stod(rows[i][1]);
    if (k <= 0) continue;
    const double young = 2900, s = 0.01, outside = 12;
    const auto r = hub_stress({k * outside, outside, young, nu, 0, 0}, s * k * outside);
    REQUIRE(r);
    INFO("k " << k << " nu " << nu);
    CHECK(r->pressure_MPa / (young * s) == Approx(std::stod(rows[i][3])).margin(2e-5));
    CHECK(r->hoop_MPa / (young * s) == Approx(std::stod(rows[i][4])).margin(2e-5));
    CHECK(r->hoop_strain_ratio == Approx(s).epsilon(1e-12));
    // the free ring shrinks by s, the shaft holds its bore: the outside shrinks by s less what the pressure adds
    CHECK((s - r->growth_outside_mm / outside) / s == Approx(std::stod(rows[i][2])).margin(2e-5));
    ++checked;
  }
  CHECK(checked > 50);
}

// Source: the usual text-book form for one material and a solid shaft, p = E i (D^2 - d^2) / (2 d D^2)
// (Shigley, Mechanical Engineering Design, eq. for press fits of equal materials, from memory), worked for
// steel 40/80 mm, i = 0.05 mm, E = 207 GPa: p = 207000 * 0.05 * (6400 - 1600) / (2 * 40 * 6400) = 97.03 MPa,
// hoop 97.03 * 5/3 = 161.7 MPa.
TEST_CASE("press fit: steel hub on steel shaft, handbook formula of equal materials", "[plan][press]") {
  const auto r = hub_stress({40, 80, 207000, 0.292, 207000, 0.292}, 0.05);
  REQUIRE(r);
  CHECK(r->pressure_MPa == Approx(97.03).margin(0.005));
  CHECK(r->hoop_MPa == Approx(161.7).margin(0.05));
}

TEST_CASE("press fit: stress and strain satisfy Lame's equations through the wall", "[plan][press]") {
  // radial equilibrium and compatibility of the plane-stress ring, by differences of the Lame field built
  // from p
  const double a = 1.5, b = 6, young = 97000, nu = 0.34;
  const auto r = hub_stress({2 * a, 2 * b, young, nu, 205000, 0.29}, 0.01);
  REQUIRE(r);
  const double c = r->pressure_MPa * a * a / (b * b - a * a);
  const auto radial = [&](double x) { return c * (1 - b * b / (x * x)); };
  const auto hoop = [&](double x) { return c * (1 + b * b / (x * x)); };
  CHECK(radial(a) == Approx(-r->pressure_MPa));
  CHECK(radial(b) == Approx(0).margin(1e-12));
  CHECK(hoop(a) == Approx(r->hoop_MPa));
  for (double x = a; x <= b; x += 0.5) {
    const double h = 1e-5;
    CHECK((radial(x + h) - radial(x - h)) / (2 * h) + (radial(x) - hoop(x)) / x == Approx(0).margin(1e-5));
  }
  // bore grows and shaft shrinks by exactly the interference
  const double grows = r->hoop_strain_ratio * 2 * a, shrinks = r->pressure_MPa * (1 - 0.29) / 205000 * 2 * a;
  CHECK(grows + shrinks == Approx(0.01).epsilon(1e-12));
}

// Source: trade figures of this project: 10 um on 2 mm in a brass hub of 8 mm about 300 MPa, in acetal about
// 10 MPa.
TEST_CASE("press fit: brass and acetal pulleys on a 2 mm shaft", "[plan][press]") {
  PressFitCase c;
  c.shaft_mm = {2.000, 0};
  c.bore_limits_mm = {1.990, 1.990};
  c.hub_outside_mm = 8;
  c.hub_length_mm = 4;
  c.hub = *find_material("brass");
  c.shaft = *find_material("steel");
  const auto brass = press_fit(c);
  REQUIRE(brass);
  CHECK(brass->most.hoop_MPa == Approx(300).margin(20));
  REQUIRE(brass->yield_margin);
  CHECK(*brass->yield_margin < 1);
  CHECK(brass->warnings.front().code == WarningCode("yields"));
  CHECK(*brass->holding_torque_Nmm > 100);
  c.hub = *find_material("acetal");
  const auto acetal = press_fit(c);
  REQUIRE(acetal);
  CHECK(acetal->most.hoop_MPa == Approx(10).margin(2));
  CHECK(acetal->warnings.back().code == WarningCode("warm-loose"));
  bool creeps = false;
  for (const Warning& w : acetal->warnings) creeps = creeps || w.code == "creeps";
  CHECK(creeps);
}

TEST_CASE("press fit: chance of the fit agrees with 400000 drawn shafts and bores", "[plan][press]") {
  std::mt19937_64 random(20240607);
  const Estimate shaft{3.000, 0.002};
  const Interval bore{2.9930, 3.0010}, wanted{0.001, 0.006};
  const auto c = chance_of_fit(shaft, bore, wanted);
  std::normal_distribution<double> s(shaft.value, shaft.u);
  std::uniform_real_distribution<double> b(bore.lo, bore.hi);
  constexpr int kDraws = 400000;
  int loose = 0, below = 0, above = 0;
  for (int i = 0; i < kDraws; ++i) {
    const double x = s(random) - b(random);
    loose += x < 0;
    below += x < wanted.lo;
    above += x > wanted.hi;
  }
  const double five_sigma = 5 * 0.5 / std::sqrt(double(kDraws));
  CHECK(c.p_loose == Approx(double(loose) / kDraws).margin(five_sigma));
  CHECK(c.p_below == Approx(double(below) / kDraws).margin(five_sigma));
  CHECK(c.p_above == Approx(double(above) / kDraws).margin(five_sigma));
  CHECK(c.interference_mm.lo == Approx(3.000 - 0.004 - 3.001));
  CHECK(c.interference_mm.hi == Approx(3.000 + 0.004 - 2.993));
}

TEST_CASE("press fit: chances at the ends are exact and monotone", "[plan][press]") {
  const auto sure = chance_of_fit({3, 0}, {2.98, 2.99}, {0.01, 0.02});
  CHECK(sure.p_loose == 0);
  CHECK(sure.p_below == 0);
  CHECK(sure.p_above == Approx(0).margin(1e-12));
  const auto half = chance_of_fit({3, 0}, {2.99, 3.01}, {0, 1});
  CHECK(half.p_loose == Approx(0.5).margin(1e-9));
  const auto normal = chance_of_fit({3, 0.002}, {3, 3}, {0, 1});
  CHECK(normal.p_loose == Approx(0.5).margin(1e-9));
  double last = 1;
  for (double u : {0.010, 0.005, 0.002, 0.001, 0.0}) {
    const double p = chance_of_fit({3, u}, {2.990, 2.994}, {0, 1}).p_loose;
    CHECK(p <= last);
    last = p;
  }
}

TEST_CASE("press fit: a bore outside the hub and a hub without stiffness are refused", "[plan][press]") {
  CHECK(hub_stress({8, 8, 1e5, 0.3, 0, 0}, 0.01).error().code == ErrorCode::kBadArgument);
  CHECK_FALSE(hub_stress({0, 8, 1e5, 0.3, 0, 0}, 0.01).has_value());
  CHECK_FALSE(hub_stress({2, 8, 0, 0.3, 0, 0}, 0.01).has_value());
  CHECK(hub_stress({2, 8, 1e5, 0.3, 0, 0}, -0.01)->hoop_MPa == 0);
  PressFitCase c;
  c.shaft_mm = {2, 0};
  c.bore_limits_mm = {1.99, 1.99};
  c.hub_outside_mm = 8;
  c.hub = *find_material("rubber");
  c.shaft = *find_material("steel");
  CHECK(press_fit(c).error().code == ErrorCode::kBadArgument);
}

// Source: material_properties.csv, named there: Crawford, Plastics Engineering, table 1.8 (POM-H 1420, PS
// 1050, ABS 1040, PA66 1140); densities of free-cutting brass 8500 (materials database) and 6061 2700 (two
// tables).
TEST_CASE("material: densities of the handbook and words people use", "[plan][material]") {
  CHECK(find_material("POM-H")->density_kg_m3 == 1420);
  CHECK(find_material("ps")->density_kg_m3 == 1050);
  CHECK(find_material("ABS")->density_kg_m3 == 1040);
  CHECK(find_material(" Nylon ")->density_kg_m3 == 1140);
  CHECK(find_material("c360")->density_kg_m3 == 8500);
  CHECK(find_material("Aluminium")->density_kg_m3 == 2700);
  CHECK(find_material("brass")->name == "brass CW614N (CZ121)");
  CHECK_FALSE(find_material("unobtainium").has_value());
}
