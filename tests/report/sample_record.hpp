// A part record with everything a page can show, of invented values.
#pragma once
#include <cmath>
#include <fstream>
#include <iterator>
#include <string>

#include "rondure/report/page.hpp"

inline bool has(const std::string& text, const std::string& what) {
  return text.find(what) != std::string::npos;
}

namespace rondure::sample {

inline Feature roller_outside() {
  Feature f;
  f.name = "outside", f.kind = FeatureKind::kOutside;
  f.source = {SourceType::kPhoto, "roller.jpg", "", "camera.json", "2026-11-02T10:15:00Z"};
  f.points = {720, 696, 360};
  f.circle = CircleResult{12.4523, 0.0061, {20, 10}, 0.0121, Interval{12.4402, 12.4646}};
  f.ellipse =
      EllipseResult{12.4630, 12.4420, 34.0, {20, 10}, 0.0208, 0.0040, Interval{0.0130, 0.0290}, 0.00002};
  RoundnessResult roundness;
  roundness.lsci = ReferenceCircleResult{0.0312, 12.4523, {20, 10}};
  roundness.mzci = ReferenceCircleResult{0.0297, 12.4519, {20, 10}};
  roundness.mcci = ReferenceCircleResult{0.0335, 12.4700, {20, 10}};
  roundness.mici = ReferenceCircleResult{0.0330, 12.4390, {20, 10}};
  roundness.noise_floor_mm = 0.004;
  f.roundness = roundness;
  f.sizes = SizesResult{12.4523, 12.47, 12.439, 12.4524, 12.4522, 12.466, 12.441, 0.025};
  for (int k = 2; k <= 9; ++k)
    f.harmonics.push_back({k, k == 2 ? 0.0052 : k == 3 ? 0.0021 : 0.0004 + 0.0001 * k, 34, 0.0004});
  f.excluded = {{118, 130, 0.12, 24, {}}, {300, 302, -0.03, 4, {}}};
  f.budget = {{UncertaintySource::kScale, 0.0045},
              {UncertaintySource::kEdgeOffset, 0.0032},
              {UncertaintySource::kEdgeNoise, 0.0004},
              {UncertaintySource::kForm, 0.0011}};
  f.verdict = OutlineForm::kOval;
  for (int a = 0; a < 360; a += 1) {
    const bool nib = a >= 118 && a <= 130;
    const double d =
        0.0052 * std::cos(2 * rad(a - 34)) + 0.0021 * std::cos(3 * rad(a - 34)) + 0.0008 * std::sin(37.0 * a);
    f.profile.push_back({static_cast<double>(a), nib ? 0.12 : d, !nib});
  }
  f.pixel_from_part = {{40, 0, 100, 0, -40, 900}};
  f.warnings = {
      {"clipped-light",
       "The bright side is clipped over 3 % of the edge; the size may be up to 0.004 mm too small."}};
  return f;
}

// The plan of a replacement, as `rondure plan` wrote it for the demo roller.
inline std::string plan() {
  std::ifstream file(RONDURE_SOURCE "/tests/fuzz/corpus/plan/full.json");
  return {std::istreambuf_iterator<char>(file), {}};
}

inline PartRecord roller() {
  PartRecord record;
  record.name = "film-advance roller";
  record.material = "POM-C";
  record.features.push_back(roller_outside());
  Feature crown;
  crown.name = "crown", crown.kind = FeatureKind::kArc;
  crown.source = {SourceType::kReadings, "crown.csv", "", "", "2026-11-02T11:00:00Z"};
  crown.points = {12, 12, 28};
  crown.circle = CircleResult{26.01, 0.8, {0, 0}, 0.004, std::nullopt};
  crown.verdict = OutlineForm::kUndecided;
  for (int i = 0; i < 12; ++i) crown.profile.push_back({76 + 2.5 * i, 0.004 * std::sin(i * 1.7), true});
  crown.budget = {{UncertaintySource::kEdgeNoise, 0.3}, {UncertaintySource::kFormPrior, 0.7}};
  record.features.push_back(crown);
  OriginalResult original;
  original.p_metric = 0.93;
  original.shrinkage_mean = 0.0038;
  original.shrinkage95 = {0.0018, 0.0061};
  original.reasons = {"The 3 mm shaft says metric.", "Width and outside give the same shrinkage."};
  OriginalFeature outside;
  outside.name = "outside", outside.kind = FeatureKind::kOutside, outside.undecided = false;
  outside.candidates = {{"12.5 mm", 12.5, 0.87, UnitSystem::kMetric},
                        {"31/64 in", 12.303, 0.06, UnitSystem::kInch},
                        {"12.4 mm", 12.4, 0.04, UnitSystem::kMetric},
                        {"0.490 in", 12.446, 0.02, UnitSystem::kInch}};
  outside.unshrunk_mm = {12.484, 0.03};
  outside.shapes = {{ShapeHypothesis::kUneven, 0.2, 12.507, false, "12.5 mm", 0.9},
                    {ShapeHypothesis::kBent, 0.5, 12.482, false, "12.5 mm", 0.8},
                    {ShapeHypothesis::kWorn, 0.3, 12.507, true, "12.5 mm", 0.7}};
  original.features = {outside};
  original.measure_next = {{"the width over the flanges, with a calliper to 0.02 mm", 0.42}};
  record.original = original;
  return record;
}

inline PageOptions page_options() {
  PageOptions options;
  options.made_at = "2026-11-02 12:00 UTC";
  PagePicture picture;
  picture.feature = "outside";
  picture.width_px = 720, picture.height_px = 700;
  picture.origin_x_px = 540, picture.origin_y_px = 150;
  for (int y = 0; y < 700; ++y)
    for (int x = 0; x < 720; ++x) {
      const double r = std::hypot(x + 540 - 900.0, y + 150 - 500.0);
      picture.grey.push_back(r < 249 ? 70 : 200);
    }
  options.pictures.push_back(picture);
  options.changed_files = {"crown.csv"};
  return options;
}

}  // namespace rondure::sample
