// An outside seen from above and a surface of the side view that are one surface of the part: one size to make.
#include <algorithm>
#include <catch2/catch.hpp>

#include "rondure/plan/plan_text.hpp"
#include "rondure/plan/planned_sizes.hpp"
#include "rondure/plan/replacement_plan.hpp"
#include "rondure/record/plan_section.hpp"
#include "rondure/record/profile_section.hpp"

using namespace rondure;

namespace {

Feature round_one(const std::string& name, double mm, double u) {
  Feature f;
  f.name = name, f.kind = FeatureKind::kOutside;
  f.circle = CircleResult{mm, u, {}, 0, {}};
  return f;
}

ProfileSegment cylinder(const std::string& name, double from, double to, const Estimate& diameter) {
  ProfileSegment s;
  s.kind = SegmentKind::kCylinder, s.name = name, s.from_mm = from, s.to_mm = to;
  s.from_radius_mm = s.to_radius_mm = diameter.value / 2;
  s.diameter_mm = diameter, s.width_mm = Estimate{to - from, 0.01};
  return s;
}

// Both seen from the side, with 0.005 mm; the rest is what was seen from above.
PartRecord seen(double rim, double hub, std::vector<Feature> above) {
  PartRecord record;
  record.features = std::move(above);
  record.features.push_back(round_one("rim", rim, 0.005));
  record.features.push_back(round_one("hub", hub, 0.005));
  SideProfile profile;
  profile.segments = {cylinder("rim", 0, 6, {rim, 0.005}), cylinder("hub", 6, 7, {hub, 0.005})};
  put_profile(record, profile);
  return record;
}

plan::ReplacementPlan made(const PartRecord& record, const plan::PlanOptions& options = {}) {
  auto plan = plan::make_plan(record, options);
  if (!plan) FAIL(plan.error().message());
  return std::move(*plan);
}

int outsides(const plan::ReplacementPlan& plan) {
  return static_cast<int>(std::ranges::count_if(
      plan.sizes, [](const plan::PlannedSize& s) { return s.kind == FeatureKind::kOutside; }));
}

std::vector<std::string> notes(const plan::ReplacementPlan& plan, const WarningCode& code) {
  std::vector<std::string> out;
  for (const Warning& w : plan.warnings)
    if (w.code == code) out.push_back(w.text);
  return out;
}

}  // namespace

// 2026-11-30: a roller seen from above and from the side had 'outside' 12.465 h10 and 'rim' 12.500 js8 in one plan.
TEST_CASE("plan: an outside from above that agrees with one surface of the side view is planned once",
          "[plan][side]") {
  const PartRecord record =
      seen(12.444, 6.969, {round_one("outside", 12.435, 0.019), round_one("hub step", 6.97, 0.11)});
  const auto plan = made(record);
  CHECK(outsides(plan) == 2);
  REQUIRE(plan.find("rim"));
  REQUIRE(plan.find("hub"));
  CHECK(plan.find("rim")->intended_mm == 12.444);  // the better measured one
  REQUIRE(plan.running());
  CHECK(plan.running()->name == "rim");  // the first outside of the record is that surface
  const auto said = notes(plan, "names-differ");
  REQUIRE(said.size() == 2);
  CHECK(said[0].find("12.435 +- 0.019") != std::string::npos);
  CHECK(said[0].find("12.4440 +- 0.0050") != std::string::npos);

  SECTION("either name says which surface is meant") {
    plan::PlanOptions options;
    options.running_surface = "hub step";
    options.chosen_mm = {{"outside", 12.5}};
    const auto by_other_name = made(record, options);
    CHECK(by_other_name.running()->name == "hub");
    CHECK(by_other_name.find("rim")->intended_mm == 12.5);
    options.chosen_mm.push_back({"rim", 12.4});
    const auto both = plan::make_plan(record, options);
    REQUIRE_FALSE(both);
    CHECK(both.error().code == ErrorCode::kBadArgument);
  }
  SECTION("a copy that is measured under the other name has the same limits, out of the file too") {
    PartRecord saved = record;
    put_plan(saved, plan);
    const auto read = parse_part_record(to_json(saved));
    REQUIRE(read);
    const auto planned = plan::planned_sizes(*read);
    REQUIRE(planned.limits.contains("outside"));
    CHECK(planned.limits.at("outside").target_mm == planned.limits.at("rim").target_mm);
  }
}

TEST_CASE("plan: where the one from above is measured better, its size is planned under the side view's name",
          "[plan][side]") {
  PartRecord record = seen(12.444, 6.969, {round_one("outside", 12.441, 0.002)});
  OriginalResult original;
  for (const auto& [name, mm] : {std::pair{"outside", 12.5}, std::pair{"rim", 12.4}}) {
    OriginalFeature f;
    f.name = name;
    SizeCandidate c;
    c.size_mm = mm, c.probability = 0.9;
    f.candidates = {c};
    original.features.push_back(f);
  }
  record.original = original;
  const auto plan = made(record);
  CHECK(outsides(plan) == 2);
  REQUIRE(plan.find("rim"));
  CHECK(plan.find("rim")->intended_mm == 12.5);
  CHECK(*plan.find("rim")->old_mm == 12.441);
}

TEST_CASE("plan: an outside that could be two surfaces of the side view, or none, says so and stays",
          "[plan][side]") {
  const auto two = made(seen(12.444, 12.43, {round_one("outside", 12.435, 0.019)}));
  CHECK(outsides(two) == 3);
  REQUIRE(notes(two, "alike-features").size() == 1);
  CHECK(notes(two, "alike-features")[0].find("--call 'outside=leave out'") != std::string::npos);
  const auto none = made(seen(12.444, 6.969, {round_one("outside", 12.6, 0.019)}));
  CHECK(outsides(none) == 3);
  REQUIRE(notes(none, "alike-features").size() == 1);
  CHECK(notes(none, "alike-features")[0].find("12.600 +- 0.019") != std::string::npos);
  // Two from above that are near one surface: neither is taken for it.
  const auto rivals =
      made(seen(12.444, 6.969, {round_one("outside", 12.44, 0.02), round_one("lip", 12.45, 0.02)}));
  CHECK(outsides(rivals) == 4);
  CHECK(notes(rivals, "alike-features").size() == 2);
  // Without a side view nothing is compared.
  PartRecord above = seen(12.444, 6.969, {round_one("outside", 12.435, 0.019)});
  above.profile.reset();
  CHECK(outsides(made(above)) == 3);
}
