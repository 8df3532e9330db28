// The plan's steps from the record's side view: volumes by Pappus (the area of the half section times the way of its
// centroid), planned sizes in place of measured ones.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>

#include "rondure/plan/replacement_plan.hpp"
#include "rondure/plan/section_drawing.hpp"
#include "rondure/record/profile_section.hpp"

using namespace rondure;

namespace {

ProfileSegment piece(SegmentKind kind, const std::string& name, double from, double to, double r0,
                     double r1) {
  ProfileSegment s;
  s.kind = kind, s.name = name, s.from_mm = from, s.to_mm = to, s.from_radius_mm = r0, s.to_radius_mm = r1;
  if (kind == SegmentKind::kCylinder) s.diameter_mm = Estimate{2 * r0, 0.01};
  if (kind != SegmentKind::kFace) s.width_mm = Estimate{to - from, 0.01};
  return s;
}

Feature sized(const std::string& name, FeatureKind kind, double size_mm) {
  Feature f;
  f.name = name, f.kind = kind;
  f.circle = CircleResult{size_mm, 0.01, {}, 0, {}};
  return f;
}

// Flange with a chamfer, then a hub with a groove round it.
PartRecord part() {
  SideProfile p;
  p.segments = {
      piece(SegmentKind::kFace, "face", 0, 0, 0, 6.5),
      piece(SegmentKind::kChamfer, "chamfer", 0, 0.5, 6.5, 7.0004),  // its end as its own line has it
      piece(SegmentKind::kCylinder, "flange", 0.5, 2, 7, 7),
      piece(SegmentKind::kFace, "face", 2, 2, 7, 5),
      piece(SegmentKind::kCylinder, "hub", 2, 8, 5, 5),
      piece(SegmentKind::kFace, "face", 8, 8, 5, 0)};
  PartRecord record;
  record.features = {sized("flange", "outside", 14), sized("hub", "outside", 10),
                     sized("flange width", "width", 1.5), sized("hub width", "width", 6)};
  put_profile(record, p);
  return record;
}

}  // namespace

TEST_CASE("the plan's steps come from the side view: volume by Pappus", "[plan][side]") {
  plan::PlanOptions options;  // limits either way alike, so that the middles are the drawn sizes
  options.tolerances = {{"flange", "+-0.01mm"}, {"hub", "+-0.01mm"}};
  const auto plan = plan::make_plan(part(), options);
  REQUIRE(plan);
  REQUIRE(plan->profile.size() == 3);
  CHECK(plan->profile[1].name == "flange");
  REQUIRE(plan->rotor);
  const auto steps = plan->profile;
  // 2 pi times the sum of area times centroid radius of rectangles and the chamfer's trapezium.
  const auto trapezium = [](double l, double a, double b) {
    return 2 * kPi * (l * (a + b) / 2) * ((a * a + a * b + b * b) / (3 * (a + b)));
  };
  double pappus = 0;
  for (const auto& s : steps)
    pappus += trapezium(s.length_mm, s.outside_mm / 2, s.end_outside_mm.value_or(s.outside_mm) / 2);
  CHECK(std::abs(plan->rotor->new_part.volume_mm3 / pappus - 1) < 1e-12);
  const double drawn = trapezium(0.5, 6.5, 7) + trapezium(1.5, 7, 7) + trapezium(6, 5, 5);
  CHECK(std::abs(plan->rotor->new_part.volume_mm3 / drawn - 1) < 1e-9);
}

TEST_CASE("planned sizes take the place of the measured ones in the steps", "[plan][side]") {
  plan::PlanOptions options;
  options.chosen_mm = {{"flange", 14.2}, {"hub width", 6.1}};
  const auto plan = plan::make_plan(part(), options);
  REQUIRE(plan);
  REQUIRE(plan->profile.size() == 3);
  CHECK(std::abs(plan->profile[1].outside_mm - plan->find("flange")->target_mm) < 1e-9);
  CHECK(std::abs(*plan->profile[0].end_outside_mm - plan->find("flange")->target_mm) < 1e-9);
  CHECK(std::abs(plan->profile[2].length_mm - plan->find("hub width")->target_mm) < 1e-9);
  CHECK(plan->profile[2].width_size == "hub width");
  // drawn once, with its limits: the end of the chamfer is the flange's own diameter
  char bare[32];
  std::snprintf(bare, sizeof bare, "\u00d8%.3f<", plan->find("flange")->target_mm);
  const std::string svg = plan::section_svg(*plan);
  CHECK(svg.find("\u00d8") != std::string::npos);
  CHECK(svg.find(bare) == std::string::npos);
}

TEST_CASE("a width beside a broken edge is planned to its sharp corner, the edge a step within it",
          "[plan][side]") {
  PartRecord record = part();
  record.profile->segments[2].sharp_width_mm = Estimate{2, 0.002};  // 1.5 of it left beside the chamfer
  record.features[2].circle->diameter_mm = 2;
  plan::PlanOptions options;
  options.chosen_mm = {{"flange width", 2.1}};
  const auto plan = plan::make_plan(record, options);
  REQUIRE(plan);
  REQUIRE(plan->profile.size() == 3);
  const double wide = plan->find("flange width")->target_mm;
  CHECK(std::abs(plan->profile[0].length_mm - 0.5) < 1e-9);
  CHECK(std::abs(plan->profile[0].length_mm + plan->profile[1].length_mm - wide) < 1e-9);
  REQUIRE(plan->profile[1].edge_before_mm);
  CHECK(std::abs(*plan->profile[1].edge_before_mm - 0.5) < 1e-9);
  CHECK_FALSE(plan->profile[1].edge_after_mm);
  CHECK(plan->profile[1].width_size == "flange width");
}

TEST_CASE("a damaged side view says where it is damaged", "[plan][side]") {
  const auto record =
      parse_part_record(R"({"format":"rondure-part","version":1,"profile":{"segments":[{"kind":"bump"}]}})");
  REQUIRE_FALSE(record);
  CHECK(record.error().code == ErrorCode::kFileDamaged);
  CHECK(record.error().detail.find("profile.segments[0].kind: found \"bump\"") != std::string::npos);
}
