// A record with every field set, in the project's own scenario: the film-advance roller of an old microfilm
// reader.
#pragma once
#include "rondure/record/part_record.hpp"

inline rondure::Feature full_feature(const std::string& name = "roller outside") {
  using namespace rondure;
  Feature f;
  f.name = name;
  f.kind = FeatureKind::kOutside;
  f.source = {SourceType::kPhoto, "roller.jpg", std::string(64, 'a'), "cam.json", "2026-03-01T09:30:00Z"};
  f.points = {360, 352, 356.5};
  f.circle = CircleResult{12.345678901234567, 0.0021, {1.25, -3.5}, 0.0034, Interval{12.3415, 12.3499}};
  f.ellipse =
      EllipseResult{12.37, 12.32, 33.25, {1.2501, -3.4999}, 0.049, 0.006, Interval{0.037, 0.061}, 1e-9};
  f.roundness = RoundnessResult{{{15, 0.025}, {50, 0.029}},
                                ReferenceCircleResult{0.031, 12.3457, {1.25, -3.5}},
                                ReferenceCircleResult{0.030, 12.3461, {1.251, -3.5}},
                                ReferenceCircleResult{0.033, 12.372, {1.25, -3.501}},
                                ReferenceCircleResult{0.0335, 12.318, {1.249, -3.5}},
                                0.009};
  f.sizes = SizesResult{12.3457, 12.372, 12.318, 12.3459, 12.3455, 12.371, 12.321, 0.05};
  f.harmonics = {{2, 0.0125, 33.25, 0.0008}, {3, 0.0011, 101.5, {}}};
  f.excluded = {{350.5, 372.25, -0.21, 8, {17, 18}}};
  f.budget = {{UncertaintySource::kEdgeNoise, 0.0008}, {UncertaintySource::kScale, 0.0019}};
  f.verdict = OutlineForm::kOval;
  f.profile = {{0.5, 0.0123, true}, {1.5, -0.2, false}};
  f.height_mm = 5.7, f.u_height_mm = 0.05;
  f.pixel_from_part = {40.1, 0.2, 1500.25, -0.19, -40.2, 1100.75};
  f.warnings = {{"clipped-light", "the bright side touches white"}};
  return f;
}

inline rondure::PartRecord full_record() {
  using namespace rondure;
  PartRecord r;
  r.name = "film-advance roller";
  r.material = "POM-C";
  r.features = {full_feature(), full_feature("roller bore")};
  OriginalResult o;
  o.p_metric = 0.93;
  o.shrinkage_mean = 0.0041;
  o.shrinkage95 = {0.001, 0.0075};
  OriginalFeature original;
  original.name = "roller outside";
  original.candidates = {{"12.4 mm", 12.4, 0.8, UnitSystem::kMetric},
                         {"31/64 in", 12.3031, 0.1, UnitSystem::kInch}};
  original.undecided = false;
  original.kind = FeatureKind::kOutside;
  original.measured_mm = 12.345;
  original.u_mm = 0.002;
  original.u_made_mm = 0.01;
  original.unshrunk_mm = {12.39, 0.02};
  original.rest_probability = 0.1;
  o.features = {original};
  o.measure_next = {{"bore of the roller at the other end", 0.4}};
  o.reasons = {"the steel shaft is 3 mm"};
  o.warnings = {{"alike-features", "two features only"}};
  r.original = o;
  plan::PlannedSize size;
  size.name = "roller outside", size.kind = FeatureKind::kOutside;
  size.target_mm = size.intended_mm = 12.4, size.lower_mm = 12.391, size.upper_mm = 12.409;
  r.replacement.emplace();
  r.replacement->part = r.name, r.replacement->material_new = "brass", r.replacement->sizes = {size};
  r.warnings = {{"scale-dpi", "features come from two cameras"}};
  return r;
}
