#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "demo_part.hpp"
#include "rondure/making/cautions.hpp"
#include "rondure/plan/planned_sizes.hpp"
#include "rondure/plan/replacement_plan.hpp"
#include "rondure/record/plan_section.hpp"

using namespace rondure;
using namespace rondure::plan;

namespace {
bool warns(const std::vector<Warning>& list, const std::string& code) {
  for (const Warning& w : list)
    if (w.code.word() == code) return true;
  return false;
}
}  // namespace

TEST_CASE("plan: with no options the record gives every size, in the order of making", "[plan]") {
  const auto p = planned();
  REQUIRE(p.sizes.size() == 5);
  CHECK(p.sizes[0].name == "bore");
  CHECK(p.sizes[1].name == "outside");
  const PlannedSize& outside = *p.find("outside");
  CHECK(outside.intended_mm == 12.5);
  CHECK(outside.basis == SizeBasis::kOriginal);
  CHECK(outside.tolerance == "js8");
  CHECK(*outside.lower_mm == Approx(12.487));  // IT8 of 12.5 mm is 27 um (ISO 286-1), rounded inward
  CHECK(*outside.upper_mm == Approx(12.513));
  CHECK(p.find("crown radius")->target_mm == 13);
  CHECK(p.find("crown radius")->basis == SizeBasis::kOriginalUndecided);
  CHECK(*p.find("crown radius")->old_mm == Approx(25.883 / 2));
  CHECK(warns(p.warnings, "size-undecided"));
  CHECK(warns(p.warnings, "shaft-unmeasured"));
  CHECK(warns(p.cautions, "local-rules"));
  CHECK(warns(p.cautions, "heavier-rotor"));
  CHECK(p.rotor->change->inertia_ratio == Approx(6.1).margin(0.1));
  for (const PlannedSize& s : p.sizes)
    if (s.lower_mm) {
      CHECK(*s.lower_mm < s.target_mm);
      CHECK(s.target_mm < *s.upper_mm);
    }
}

TEST_CASE("plan: the measured shaft moves the bore, not the nominal size", "[plan][fits]") {
  PlanOptions o;
  o.shaft_mm = Estimate{2.9930, 0.001};
  o.tolerances = {{"bore", "H7/p6"}};
  const auto p = planned(o);
  REQUIRE(p.fit);
  // 3 H7/p6: clearance -12 .. +4 um (ISO 286 worked fits), mean -4; IT7 10 um about shaft - 4 um
  CHECK(p.fit->bore_limits_mm.lo == Approx(2.984));
  CHECK(p.fit->bore_limits_mm.hi == Approx(2.994));
  CHECK(p.fit->wanted_interference_mm.lo == Approx(-0.004));
  CHECK(p.fit->wanted_interference_mm.hi == Approx(0.012));
  CHECK(p.find("bore")->target_mm == Approx(2.989));
  CHECK(p.fit->kind == FitKind::kTransition);
  const double shift = 0.010;
  o.shaft_mm->value += shift;
  CHECK(planned(o).find("bore")->target_mm == Approx(2.989 + shift));
}

TEST_CASE("plan: a direct interference is bored off the shaft", "[plan][fits]") {
  PlanOptions o;
  o.shaft_mm = Estimate{3.000, 0.001};
  o.interferences_mm = {{"", {0.0004 * 25.4, 0}}};
  const auto p = planned(o);
  const auto& bore = *p.find("bore");
  CHECK((*bore.lower_mm + *bore.upper_mm) / 2 == Approx(3.0 - 0.01016).margin(1e-4));
  CHECK(*bore.upper_mm - *bore.lower_mm <= 2 * 0.00254 + 1e-9);
  CHECK(*bore.upper_mm - *bore.lower_mm > 2 * 0.00254 - 2e-4);
  CHECK(p.fit->chance.p_loose < 1e-3);
  o.interferences_mm = {{"bore", {-0.010, 0.004}}};  // a running clearance
  const auto running = planned(o);
  CHECK(running.fit->kind == FitKind::kClearance);
  CHECK(running.find("bore")->target_mm == Approx(3.010));
  CHECK_FALSE(running.fit->press);
}

TEST_CASE("plan: a bore larger than its shaft gets a running fit, a tight one a press fit", "[plan][fits]") {
  PartRecord r = demo_roller();
  r.features[1].kind = FeatureKind::kBore;
  PlanOptions o;
  o.shaft_mm = Estimate{2.990, 0.001};
  CHECK(planned(o, r).fit->kind == FitKind::kClearance);
  o.shaft_mm = Estimate{3.004, 0.001};
  CHECK(planned(o, r).fit->kind == FitKind::kInterference);
  r.features.push_back(demo_feature("spindle", "metal", 2.991, 0.001));
  o.shaft_mm.reset();
  const auto p = planned(o, r);
  CHECK(p.fit->shaft_measured);
  CHECK(p.fit->shaft_mm.value == 2.991);
  CHECK_FALSE(p.find("spindle"));  // metal of the machine is not made anew
}

TEST_CASE("plan: an unmeasured shaft is said to be so, and its doubt reaches the chances", "[plan][fits]") {
  const auto p = planned();
  CHECK_FALSE(p.fit->shaft_measured);
  CHECK(p.fit->shaft_mm.u >= kUnprovenShaft_mm);
  CHECK(p.fit->chance.p_below + p.fit->chance.p_above > 0.1);
  CHECK(p.check_sheet.front().kind == FeatureKind::kShaft);
  PlanOptions o;
  o.shaft_mm = Estimate{3.0, 0.001};
  const auto measured = planned(o);
  CHECK(measured.fit->chance.p_below + measured.fit->chance.p_above < 0.02);
}

TEST_CASE("plan: choices and wanted speeds set sizes and tolerances", "[plan]") {
  PlanOptions o;
  o.chosen_mm = {{"outside", 12.7}};
  o.belt_thickness_mm = 0.3;
  o.speed_error_ratio = 0.002;
  o.speed_variation_ratio = 0.001;
  const auto p = planned(o);
  const PlannedSize& outside = *p.find("outside");
  CHECK(outside.basis == SizeBasis::kChosen);
  CHECK(*outside.upper_mm - *outside.lower_mm == Approx(2 * 0.002 * 13.0).margin(2.1e-3));
  CHECK(*outside.run_out_mm + *outside.roundness_mm <= 0.001 * 13.0 + 1e-9);
  REQUIRE(p.speed);
  for (const SpeedRow& row : p.speed->rows)
    if (row.what == "planned") {
      CHECK(row.peak_ratio <= 0.001 + 1e-9);
      CHECK(row.mean_error_ratio->hi <= 0.002 + 1e-9);
    }
}

TEST_CASE("plan: speed of the old part shows shrinkage, run-out and the nib", "[plan][speed]") {
  const auto p = planned();
  REQUIRE(p.speed->rows.size() == 3);
  const SpeedRow &old = p.speed->rows[0], &dressed = p.speed->rows[1];
  CHECK(dressed.what == "old, nib off");
  CHECK(old.eccentricity_known);  // outside and bore from one picture, 0.043 mm apart
  CHECK(dressed.harmonics[0].amplitude_ratio == Approx(0.043 / 6.22).epsilon(0.01));
  CHECK(dressed.harmonics[1].amplitude_ratio == Approx(0.013 / 6.22).epsilon(0.02));
  CHECK(old.peak_ratio > 1.5 * dressed.peak_ratio);
  CHECK((dressed.mean_error_ratio->lo + dressed.mean_error_ratio->hi) / 2 ==
        Approx(12.4441 / 12.5 - 1).margin(1e-4));
}

TEST_CASE("plan: planned sizes are given as features are measured, arcs too as diameters", "[plan][sizes]") {
  PartRecord record = demo_roller();
  record.replacement = planned();
  const auto sizes = planned_sizes(record);
  int arcs = 0;
  for (const PlannedSize& s : record.replacement->sizes) {
    INFO(s.name);
    arcs += s.kind == FeatureKind::kArc;
    const double factor = s.kind == FeatureKind::kArc ? 2 : 1;
    CHECK(sizes.limits.at(s.name).target_mm == Approx(factor * s.target_mm));
    if (s.upper_mm) CHECK(*sizes.limits.at(s.name).limits.upper_mm == Approx(factor * *s.upper_mm));
  }
  CHECK(arcs == 1);
  CHECK(planned_sizes(demo_roller()).limits.empty());
}

TEST_CASE("plan: the measured copy is put beside the plan", "[plan][speed]") {
  PartRecord copy;
  copy.features = {demo_feature("outside", "outside", 12.502, 0.002)};
  const auto p = make_plan(demo_roller(), {}, &copy);
  REQUIRE(p);
  CHECK(p->speed->rows.back().what == "copy");
  CHECK(p->speed->rows.back().peak_ratio < 1e-6);
  CHECK_FALSE(p->speed->rows.back().eccentricity_known);
  copy.features.clear();
  CHECK(make_plan(demo_roller(), {}, &copy).error().code == ErrorCode::kNoAnswer);
}

TEST_CASE("plan: steps along the axis take the planned sizes of their names", "[plan][inertia]") {
  PlanOptions o;
  o.steps = *parse_steps(
      "name,length,outside,end_outside,crown_radius,bore,unit\nhub,1,,,,,mm\noutside,6,,,,,mm\n"
      "chamfer,0.5,7,6,,,mm\n");
  const auto p = planned(o);
  REQUIRE(p.profile.size() == 3);
  CHECK(p.profile[0].outside_mm == p.find("hub")->target_mm);
  CHECK(p.profile[1].outside_mm == p.find("outside")->target_mm);
  CHECK(*p.profile[1].crown_radius_mm == 13);
  CHECK(p.profile[2].bore_mm == p.find("bore")->target_mm);
  CHECK_FALSE(warns(p.warnings, "left-out-of-mass"));
  CHECK(warns(planned().warnings, "left-out-of-mass"));
  o.steps[0].name = "nowhere";
  CHECK(make_plan(demo_roller(), o).error().code == ErrorCode::kBadArgument);
  for (const char* bad : {"name,length\n,5\n", "name,length\nhub,-1\n", "name,length\nhub,x\n",
                          "name,size\nhub,1\n", "", "name,length,unit\nhub,1,ell\n"})
    CHECK(parse_steps(bad).error().code == ErrorCode::kBadLine);
}

TEST_CASE("plan: the shelf is searched for the radius on the work, or for the one to grind", "[plan][tool]") {
  PlanOptions o;
  o.shelf = {{"13", ToolKind::kWheel, 13, 0}, {"13.13", ToolKind::kWheel, 13.13, 0}};
  CHECK(planned(o).tools.at(0).choices.at(0).tool == "13");
  CHECK(planned(o).tools.at(0).wanted.width_mm == 6);
  o.ground_as = FormToolCase::kSection;  // clearance 8 degrees: 13/cos 8 = 13.128
  CHECK(planned(o).tools.at(0).choices.at(0).tool == "13.13");
  PartRecord r = demo_roller();
  r.features.erase(r.features.begin() + 3);  // no width: the chord that was measured
  r.features.back().points.coverage_deg = 27;
  CHECK(planned(o, r).tools.at(0).wanted.width_mm == Approx(25.883 * std::sin(rad(13.5))).margin(0.0005));
  r.features.back().points.coverage_deg = 0;
  CHECK(warns(planned(o, r).warnings, "arc-width-unknown"));
}

TEST_CASE("plan: a part beyond the tables is planned, without a guess at its limits", "[plan][fits]") {
  PartRecord r = demo_roller();
  r.original.reset();
  r.features = {demo_feature("outside", "outside", 80, 0.01), demo_feature("bore", "bore", 60, 0.01)};
  const auto p = planned({}, r);
  CHECK_FALSE(p.find("bore")->lower_mm);
  CHECK(warns(p.warnings, "no-class"));
  CHECK(*p.find("outside")->upper_mm - *p.find("outside")->lower_mm == Approx(0.2));
  PlanOptions o;
  o.tolerances = {{"bore", "+-0.01mm"}};
  CHECK(*planned(o, r).find("bore")->upper_mm == Approx(60.01));
  o.tolerances = {{"bore", "H7/p6"}};  // asked for, so refused rather than replaced
  CHECK(make_plan(r, o).error().code == ErrorCode::kBadArgument);
  r.features = {demo_feature("outside", "outside", 45, 0.01), demo_feature("bore", "bore", 35, 0.01)};
  CHECK(*planned({}, r).find("bore")->upper_mm == Approx(35.025));  // H7 of 35 mm, ISO 286-1
}

TEST_CASE("plan: without an original the part of today is copied and the plan says so", "[plan]") {
  PartRecord r = demo_roller();
  r.original.reset();
  const auto p = planned({}, r);
  CHECK(p.find("outside")->basis == SizeBasis::kMeasured);
  CHECK(p.find("outside")->intended_mm == 12.4441);
  CHECK(warns(p.warnings, "size-as-measured"));
  r.material.clear();
  const auto unknown = planned({}, r);
  CHECK(warns(unknown.cautions, "unknown-plastic"));
  CHECK_FALSE(unknown.rotor->change);
}

TEST_CASE("plan: names, fits and materials that cannot be meant are refused", "[plan]") {
  const auto code = [](const PlanOptions& o, const PartRecord& r = demo_roller()) {
    const auto p = make_plan(r, o);
    REQUIRE_FALSE(p);
    return p.error().code;
  };
  PlanOptions o;
  o.tolerances = {{"rim", "h9"}};
  CHECK(code(o) == ErrorCode::kBadArgument);
  o.tolerances = {{"bore", "Q7/p6"}};
  CHECK(code(o) == ErrorCode::kBadArgument);
  o.tolerances = {{"outside", "H7/p6"}};
  CHECK(code(o) == ErrorCode::kBadArgument);
  o = {};
  o.material_new = "cheese";
  CHECK(code(o) == ErrorCode::kBadArgument);
  o = {};
  o.interferences_mm = {{"", {5, 0}}};
  CHECK(code(o) == ErrorCode::kBadArgument);
  o = {};
  o.clearance_deg = 60;
  CHECK(code(o) == ErrorCode::kBadArgument);
  CHECK(code({}, PartRecord{}) == ErrorCode::kNoAnswer);
}

TEST_CASE("plan: JSON and back loses nothing", "[plan][json]") {
  PlanOptions o;
  o.shaft_mm = Estimate{3.0, 0.002};
  o.turns_rpm = 230;
  o.ripple_hz = 8;
  o.belt_stiffness_N_mm = 2;
  o.belt_thickness_mm = 0.13;
  o.shelf = {{"wheel 13", ToolKind::kWheel, 13, 0},
             {"arbor 25", ToolKind::kArbor, 12.5, 0},
             {"paper", ToolKind::kPaper, 0, 0.2},
             {"tiny", ToolKind::kCutter, 1, 0}};
  const auto p = planned(o);
  const std::string json = plan_json(p);
  const auto back = parse_plan(json);
  REQUIRE(back);
  CHECK(plan_json(*back) == json);
  CHECK(back->sizes.size() == p.sizes.size());
  CHECK(back->fit->press->mean.hoop_MPa == p.fit->press->mean.hoop_MPa);
  CHECK(json.find(": nan") == std::string::npos);
  CHECK(json.find(": null") == std::string::npos);
  const auto j = nlohmann::json::parse(json);
  CHECK(j.at("sizes").at(0).contains("target_mm"));
  CHECK(j.at("tools").at(0).at("choices").at(0).at("tool") == "wheel 13");
}

TEST_CASE("plan: damaged JSON is refused by code, never a crash", "[plan][json]") {
  for (const char* bad :
       {"", "[]", "{", "3", R"({"sizes":3})", R"({"sizes":[3]})", R"({"sizes":[{"target_mm":"x"}]})",
        R"({"fit":[]})", R"({"fit":{"bore_limits_mm":[1]}})", R"({"form_tools":[{"case":"third"}]})",
        R"({"tools":[{"too_small":[1]}]})", R"({"speed":{"rows":[{"eccentricity_known":3}]}})"}) {
    INFO(bad);
    CHECK(parse_plan(bad).error().code == ErrorCode::kFileDamaged);
  }
  CHECK(parse_plan(R"({"from a later version":1})").has_value());
}

TEST_CASE("plan: a damaged one is refused with what and where", "[plan][json]") {
  const auto message = [](const std::string& text) { return parse_plan(text).error().detail; };
  CHECK_THAT(
      message(R"({"sizes":[{},{"target_mm":"x"}]})"),
      Catch::Contains("replacement.sizes[1].target_mm") && Catch::Contains("found \"x\", needed a number"));
  CHECK_THAT(message(R"({"sizes":[{"name":"rim","lower_mm":3,"upper_mm":2}]})"),
             Catch::Contains("replacement.sizes[0].lower_mm") && Catch::Contains("the smaller one"));
  CHECK_THAT(
      message(R"({"fit":{"kind":"loose"}})"),
      Catch::Contains("replacement.fit.kind") && Catch::Contains("clearance, transition or interference"));
  CHECK_THAT(message("{\n\"sizes\":["), Catch::Contains("line 2"));
}

TEST_CASE("plan: text shows what to dial in both units, limits in inches never wider", "[plan][text]") {
  const auto p = planned();
  const std::string text = plan_text(p);
  CHECK(text.find("12.500") != std::string::npos);
  CHECK(text.find("12.487") != std::string::npos);
  CHECK(text.find("0.49162") != std::string::npos);  // 12.487/25.4 = 0.491614, rounded up
  CHECK(text.find("0.49263") != std::string::npos);  // 12.513/25.4 = 0.492638, rounded down
  CHECK(text.find("nan") == std::string::npos);
  std::size_t lines = 0;
  for (const char c : text) lines += c == '\n';
  CHECK(lines <= 40);
}

TEST_CASE("check sheet: the coarsest instrument that is good enough, four to one", "[plan][checks]") {
  CHECK(choose_instrument("width", 6, 0.12)->name == "vernier or digital calliper");
  CHECK(choose_instrument("outside", 12, 0.026)->name == "outside micrometer");
  CHECK(choose_instrument("outside", 12, 0.009)->u_mm == 0.001);
  CHECK(choose_instrument("outside", 12, 0.026)->good_enough);
  CHECK_FALSE(choose_instrument("outside", 12, 0.0005)->good_enough);
  CHECK(choose_instrument("outside", 12, 0.0005)->u_mm == 0.0004);
  CHECK_FALSE(choose_instrument(FeatureKind::kOther, 12, 1));
  for (const double zone : {0.5, 0.1, 0.05, 0.02, 0.01, 0.005}) {
    const auto i = choose_instrument("bore", 8, zone);
    if (i->good_enough) CHECK(zone >= 4 * 2 * i->u_mm - 1e-12);
  }
}

TEST_CASE("check sheet: CSV has its blanks and its unit", "[plan][checks]") {
  const auto p = planned();
  const std::string csv = check_sheet_csv(p.check_sheet, "roller", LengthUnit::kInch);
  CHECK(csv.find("name,kind,target,lower,upper,measured,u,unit") != std::string::npos);
  CHECK(csv.find("\noutside,outside,0.49213,0.49162,0.49263,,,in,") != std::string::npos);
}

TEST_CASE("cautions: only those that apply, and always the deference to local rules", "[plan][cautions]") {
  CautionFacts facts;
  facts.old_material = *find_material("POM-C");
  facts.new_material = *find_material("stainless");
  auto c = cautions(facts);
  CHECK(warns(c, "turning"));
  CHECK(c.back().code == WarningCode("local-rules"));
  for (const char* absent :
       {"form-tool", "press", "unknown-plastic", "phenolic-dust", "lead", "heavier-rotor", "burst"})
    CHECK_FALSE(warns(c, absent));
  facts.old_material = *find_material("phenolic");
  facts.form_tool = facts.press_fit = true;
  facts.inertia_ratio = 6;
  facts.burst_speed_margin = 2;
  facts.smallest_mm = 2;
  c = cautions(facts);
  for (const char* present :
       {"form-tool", "hardening", "press", "phenolic-dust", "heavier-rotor", "burst", "small-part"})
    CHECK(warns(c, present));
  facts.old_material = *find_material("cellulose acetate");
  CHECK(warns(cautions(facts), "cellulose"));
}

// 2026-11: renamed from "hub" to "boss", the hoop stress fell from 265 to 242 MPa: a name decided which wall was strained.
TEST_CASE("plan: what a feature is called changes no figure", "[plan][fits]") {
  PlanOptions o;
  o.shaft_mm = Estimate{3.0, 0.002};
  o.tolerances = {{"bore", "H7/s6"}};
  const auto as_hub = planned(o);
  PartRecord record = demo_roller();
  for (Feature& f : record.features)
    if (f.name == "hub") f.name = "boss";
  if (record.original)
    for (auto& f : record.original->features)
      if (f.name == "hub") f.name = "boss";
  const auto as_boss = planned(o, record);
  REQUIRE(as_hub.find("hub"));
  REQUIRE(as_boss.find("boss"));
  REQUIRE(as_hub.fit->press);
  CHECK(as_boss.fit->press->most.hoop_MPa == as_hub.fit->press->most.hoop_MPa);
  CHECK(as_boss.find("boss")->target_mm == as_hub.find("hub")->target_mm);
}

namespace {
Feature feature_like(const Feature& f, const std::string& name, FeatureKind kind, double size_mm) {
  Feature out = f;
  out.name = name, out.kind = kind;
  out.circle = CircleResult{size_mm, 0.01, {}, 0, {}};
  return out;
}
}  // namespace

// 2026-11: 'outside' took the 20 mm of 'outside 2 width', since names matched by their beginnings.
TEST_CASE("plan: a width belongs to the outside that it is said to belong to, whatever it is called",
          "[plan]") {
  PartRecord record = demo_roller();
  std::erase_if(record.features, [](const Feature& f) { return f.kind == FeatureKind::kWidth; });
  const Feature model = record.features.front();
  record.features.push_back(feature_like(model, "outside 2", FeatureKind::kOutside, 9));
  record.features.push_back(feature_like(model, "outside width", FeatureKind::kWidth, 20));
  record.features.push_back(feature_like(model, "a", FeatureKind::kWidth, 5));
  // Nothing said: two could be, neither is taken, and it is said.
  const auto unsaid = planned({}, record);
  CHECK(unsaid.rotor->per_mm_width);
  CHECK(warns(unsaid.warnings, "width-unknown"));
  // Said, against what the names would suggest.
  PlanOptions o;
  o.width_of = {{"a", "outside"}, {"outside width", "outside 2"}};
  const auto said = planned(o, record);
  CHECK_FALSE(said.rotor->per_mm_width);
  CHECK(said.profile.at(0).length_mm == Approx(5));
  CHECK(said.profile.at(0).width_size == "a");
  CHECK(said.find("outside width")->of == "outside 2");
  CHECK(parse_plan(plan_json(said))->find("outside width")->of == "outside 2");
  // The only one that is left is the running surface's.
  o.width_of = {{"outside width", "outside 2"}};
  CHECK(planned(o, record).profile.at(0).width_size == "a");
  for (const auto& [width, outside] :
       {std::pair{"a", "nowhere"}, {"nothing", "outside"}, {"outside 2", "outside"}, {"a", "a"}}) {
    o.width_of = {{width, outside}};
    CHECK(make_plan(record, o).error().code == ErrorCode::kBadArgument);
  }
}

// 2026-11: an arc was the crown when its name held "crown".
TEST_CASE("plan: the crown is the arc that is said to be it, or the only one that can be", "[plan][crown]") {
  const auto crowned = [](const PartRecord& record, std::optional<std::string> said) {
    PlanOptions o;
    o.crown = std::move(said);
    return planned(o, record);
  };
  PartRecord record = demo_roller();
  const auto as_named = crowned(record, {});
  REQUIRE(as_named.crown);
  record.features.back().name = record.original->features.back().name = "tread";
  const auto renamed = crowned(record, {});
  REQUIRE(renamed.crown);  // a label decides nothing
  CHECK(renamed.crown->radius_mm == as_named.crown->radius_mm);
  CHECK(renamed.find("tread")->of == "outside");
  CHECK(plan_text(renamed).find("'tread' R 13") != std::string::npos);  // which arc was taken is said
  CHECK(crowned(record, "tread").crown->radius_mm == as_named.crown->radius_mm);
  CHECK_FALSE(crowned(record, "none").crown);

  record.features.push_back(feature_like(record.features.back(), "crown", FeatureKind::kArc, 40));
  const auto two = crowned(record, {});
  CHECK_FALSE(two.crown);
  CHECK(warns(two.warnings, "crown-unknown"));
  CHECK(crowned(record, "crown").crown->radius_mm == 20);
  record.features.back().circle->diameter_mm = 4;  // R 2 over 6 mm: a groove or a round, no crown
  CHECK(crowned(record, {}).crown->radius_mm == as_named.crown->radius_mm);
  PlanOptions wrong;
  wrong.crown = "outside";
  CHECK(make_plan(record, wrong).error().code == ErrorCode::kBadArgument);
}

TEST_CASE("plan: the caution of an abrasive arbor hangs on what the tool is, not on its name",
          "[plan][cautions]") {
  PlanOptions o;
  o.wanted_radius_mm = Estimate{13, 0.1};
  o.arc_width_mm = 6;
  o.shelf = {{"cutter with chip breaker", ToolKind::kCutter, 13.0, 0}};
  CHECK_FALSE(warns(planned(o).cautions, "abrasive"));
  o.shelf = {{"arbor 25", ToolKind::kArbor, 12.8, 0}, {"paper 600", ToolKind::kPaper, 0, 0.2}};
  CHECK(warns(planned(o).cautions, "abrasive"));
}
