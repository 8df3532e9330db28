// The film-advance roller of the demo reader as a record in code: acetal on a 3 mm steel shaft, shrunk, oval,
// with a nib, and the plan of it.
#pragma once
#include <catch2/catch.hpp>

#include "rondure/plan/replacement_plan.hpp"
#include "rondure/record/part_record.hpp"

inline rondure::Feature demo_feature(const std::string& name, rondure::FeatureKind kind, double diameter_mm,
                                     double u_mm) {
  rondure::Feature f;
  f.name = name;
  f.kind = kind;
  f.circle = rondure::CircleResult{diameter_mm, u_mm, {1, 2}, 0.002, {}};
  return f;
}

inline rondure::PartRecord demo_roller() {
  using namespace rondure;
  PartRecord r;
  r.name = "film-advance roller";
  r.material = "POM-C";
  Feature outside = demo_feature("outside", "outside", 12.4441, 0.006);
  outside.source = {rondure::SourceType::kPhoto, "roller.jpg", "aa", "", ""};
  outside.harmonics = {{2, 0.013, 31, 0.0007}, {3, 0.0006, 10, 0.0007}};
  outside.excluded = {{113, 118, 0.12, 12, {}}};
  Feature bore = demo_feature("bore", "bore-on-metal", 3.001, 0.006);
  bore.source = outside.source;
  bore.circle->center = {1.043, 2};
  r.features = {outside, bore, demo_feature("hub", "outside", 6.968, 0.006),
                demo_feature("flange height", "width", 5.973, 0.012),
                demo_feature("crown radius", "arc", 25.883, 0.2)};
  OriginalResult o;
  const auto original = [](const char* name, const char* label, double mm, double p) {
    OriginalFeature f;
    f.name = name;
    SizeCandidate c;
    c.label = label, c.size_mm = mm, c.probability = p;
    f.candidates = {c};
    f.undecided = p < 0.8;
    return f;
  };
  o.features = {original("outside", "12.5 mm", 12.5, 0.93), original("bore", "3 mm", 3, 0.99),
                original("hub", "7 mm", 7, 0.97), original("flange height", "6 mm", 6, 0.95),
                original("crown radius", "R 13 mm", 13, 0.61)};
  r.original = o;
  return r;
}

inline rondure::plan::ReplacementPlan planned(const rondure::plan::PlanOptions& options = {},
                                              const rondure::PartRecord& record = demo_roller()) {
  auto p = rondure::plan::make_plan(record, options);
  if (!p) FAIL(p.error().message());
  return std::move(p).value();
}
