// Single figures of a plan, each worked by hand: what a machinist would find with paper and the standards' tables.
#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "demo_part.hpp"
#include "rondure/making/cautions.hpp"
#include "rondure/plan/replacement_plan.hpp"

using namespace rondure;
using namespace rondure::plan;

namespace {
std::set<std::string> codes(const std::vector<Warning>& list) {
  std::set<std::string> out;
  for (const Warning& w : list) out.insert(std::string(w.code.word()));
  return out;
}
CautionFacts facts(const char* old_material, const char* new_material) {
  CautionFacts f;
  if (*old_material) f.old_material = *find_material(old_material);
  if (*new_material) f.new_material = *find_material(new_material);
  return f;
}
}  // namespace

TEST_CASE("cautions: every hazard of old and new material brings its own, and no other", "[plan][cautions]") {
  // What the materials give off: safety data sheets of the trade, from memory.
  struct Row {
    const char *old_material, *new_material;
    std::set<std::string> also;
  };
  const Row rows[] = {{"acetal", "stainless", {"formaldehyde"}},
                      {"nylon", "acetal", {"formaldehyde"}},
                      {"pvc", "stainless", {"chlorine"}},
                      {"nylon", "pvc", {"chlorine"}},
                      {"nylon", "brass", {"lead"}},
                      {"nylon", "12l14", {"lead"}},
                      {"nylon", "6061", {"chips"}},
                      {"polyurethane", "stainless", {"isocyanate"}},
                      {"phenolic", "stainless", {"phenolic-dust"}},
                      {"acetate", "stainless", {"cellulose"}},
                      {"", "stainless", {"unknown-plastic"}},
                      {"nylon", "stainless", {}}};
  for (const Row& row : rows) {
    INFO(row.old_material << " -> " << row.new_material);
    std::set<std::string> wanted = row.also;
    wanted.insert({"turning", "local-rules"});
    CHECK(codes(cautions(facts(row.old_material, row.new_material))) == wanted);
  }
}

TEST_CASE("cautions: of the work, each from its own fact and limit on", "[plan][cautions]") {
  const auto says = [](auto set, const char* code) {
    CautionFacts f = facts("nylon", "stainless");
    set(f);
    return codes(cautions(f)).contains(code);
  };
  CHECK(says([](auto& f) { f.press_fit = true; }, "press"));
  CHECK(says([](auto& f) { f.abrasive_arbor = true; }, "abrasive"));
  CHECK(says([](auto& f) { f.form_tool = true; }, "form-tool"));
  CHECK(says([](auto& f) { f.form_tool = true; }, "hardening"));
  CHECK(says([](auto& f) { f.smallest_mm = 3.9; }, "small-part"));
  CHECK_FALSE(says([](auto& f) { f.smallest_mm = 4.1; }, "small-part"));
  CHECK(says([](auto& f) { f.inertia_ratio = 1.6; }, "heavier-rotor"));
  CHECK_FALSE(says([](auto& f) { f.inertia_ratio = 1.4; }, "heavier-rotor"));
  CHECK(says([](auto& f) { f.burst_speed_margin = 3.9; }, "burst"));
  CHECK_FALSE(says([](auto& f) { f.burst_speed_margin = 4.1; }, "burst"));
}

TEST_CASE("plan: run-out and roundness share what the speed may vary, or the zone of the size",
          "[plan][speed]") {
  // TIR e on a running diameter D + t moves the speed by e/(D + t) either way, out-of-round the same: each may use half.
  PlanOptions o;
  o.chosen_mm = {{"outside", 12.7}};
  o.belt_thickness_mm = 0.3;
  o.speed_variation_ratio = 0.001;
  const auto by_speed = *planned(o).find("outside");
  CHECK(*by_speed.run_out_mm == Approx(0.006));  // 0.001 * 13.0 / 2 = 6.5 um, down to whole um
  CHECK(*by_speed.roundness_mm == Approx(0.006));
  const auto usual = *planned().find("outside");  // 12.5 js8: 12.487 to 12.513, 26 um
  CHECK(*usual.run_out_mm == Approx(0.013));
  CHECK(*usual.roundness_mm == Approx(0.013));
}

TEST_CASE("plan: limits to one side put the target in their middle", "[plan][fits]") {
  const auto p = planned();
  const PlannedSize& hub = *p.find("hub");  // 7 h10: IT10 of 6 to 10 mm is 58 um (ISO 286-1)
  CHECK(*hub.lower_mm == Approx(6.942));
  CHECK(*hub.upper_mm == Approx(7.000));
  CHECK(hub.target_mm == Approx(6.971));
  const PlannedSize& crown = *p.find("crown radius");  // an arc by its radius
  CHECK(*crown.old_mm == Approx(25.883 / 2));
  CHECK(*crown.u_old_mm == Approx(0.1));
}

TEST_CASE("plan: a shaft known only from its bore is known to 5 um, and the hub's wall is the thinnest",
          "[plan][fits]") {
  const auto p = planned();
  REQUIRE(p.fit);
  CHECK(p.fit->shaft_mm.value == Approx(3.001));
  CHECK(p.fit->shaft_mm.u == Approx(0.006));  // of the bore; never below 5 um
  PartRecord sharp = demo_roller();
  sharp.features[1].circle->u_diameter_mm = 0.001;
  CHECK(planned({}, sharp).fit->shaft_mm.u == Approx(0.005));
  // 3 H7/s6: hub 7 mm, bore 3 mm, rigid enough a shaft: hoop = p (1 + k^2)/(1 - k^2), k the bore over the hub's outside
  PlanOptions o;
  o.shaft_mm = Estimate{3.0, 0};
  o.interferences_mm = {{"bore", {0.010, 0.001}}};
  const auto pressed = planned(o);
  REQUIRE(pressed.fit->press);
  const double outside = pressed.find("hub")->target_mm, k2 = 9 / (outside * outside);
  CHECK(pressed.fit->press->mean.hoop_MPa / pressed.fit->press->mean.pressure_MPa ==
        Approx((1 + k2) / (1 - k2)).epsilon(1e-3));
}

TEST_CASE("press fit: what smoothing leaves, and a plastic hub stretched beyond what it stands",
          "[plan][press]") {
  PressFitCase c;
  c.shaft_mm = {10.000, 0};
  c.bore_limits_mm = {9.980, 9.990};  // 10 to 20 um tight
  c.hub_outside_mm = 20;
  c.hub_length_mm = 10;
  c.hub = *find_material("brass");
  c.shaft = *find_material("steel");
  c.roughness_rz_mm = 0.004;
  // DIN 7190 takes 0.8 of both roughnesses off (from memory): 10 - 0.8 * 4 = 6.8 um
  CHECK(press_fit(c)->holding_interference_mm == Approx(0.0068));
  c.hub = *find_material("polystyrene");  // stands 0.2 % for years: 20 um on 9.98 mm is 0.200 %
  const auto at_the_edge = press_fit(c);
  REQUIRE(at_the_edge->strain_margin);
  CHECK(*at_the_edge->strain_margin == Approx(0.002 / (0.020 / 9.980)));
  CHECK(codes(at_the_edge->warnings).contains("cracks"));
  c.bore_limits_mm = {9.981, 9.990};
  CHECK_FALSE(codes(press_fit(c)->warnings).contains("cracks"));
}

TEST_CASE("fit: the chance of too tight a fit is that of the shaft above the wanted range", "[plan][press]") {
  // Shaft exactly 10, bore evenly from 9.98 to 10.00: tight by 0 to 20 um; wanted 5 to 15 um: a quarter on either side.
  const FitChance even = chance_of_fit({10, 0}, {9.98, 10.00}, {0.005, 0.015});
  CHECK(even.p_below == Approx(0.25));
  CHECK(even.p_above == Approx(0.25));
  const FitChance odd = chance_of_fit({10, 0}, {9.98, 10.00}, {0.002, 0.010});
  CHECK(odd.p_below == Approx(0.1));
  CHECK(odd.p_above == Approx(0.5));
}

TEST_CASE("check sheet: four to one counts the expanded uncertainty, and a zone that none proves is said",
          "[plan][checks]") {
  const auto p = planned();
  for (const CheckLine& line : p.check_sheet)
    if (line.name == "outside") {  // 26 um by a micrometer of u = 2 um: U = 4 um
      CHECK(line.u_mm == Approx(0.002));
      CHECK(line.zone_over_U == Approx(6.5));
    }
  CHECK_FALSE(codes(p.warnings).contains("instrument"));
  PlanOptions o;
  o.tolerances = {{"outside", "+-0.0005mm"}};
  CHECK(codes(planned(o).warnings).contains("instrument"));
}

TEST_CASE("plan: the run-out of the old part is twice its eccentricity", "[plan][speed]") {
  PlanOptions o;
  o.run_out_old_mm = 0.0622;
  const auto p = planned(o);
  for (const SpeedRow& row : p.speed->rows)
    if (row.what == "old, nib off")  // 0.0311 mm off a mean radius of 6.22 mm: 0.5 % once a turn
      CHECK(row.harmonics[0].amplitude_ratio == Approx(0.005).epsilon(0.01));
}
