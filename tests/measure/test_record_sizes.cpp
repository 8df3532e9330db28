// What the inference of original sizes is told of a record's features.
#include <catch2/catch.hpp>

#include "rondure/measure/record_sizes.hpp"

using namespace rondure;

namespace {

Feature measured(FeatureKind kind, double diameter_mm, double u_mm) {
  Feature f;
  f.name = "rim", f.kind = kind;
  f.circle = CircleResult{diameter_mm, u_mm, {}, 0, {}};
  return f;
}

PartRecord record_of(const Feature& feature) {
  PartRecord record;
  record.features.push_back(feature);
  return record;
}

}  // namespace

TEST_CASE("record sizes: an arc counts by its radius, and so does its uncertainty", "[measure][record]") {
  const auto sizes = sizes_from_record(record_of(measured(FeatureKind::kArc, 25.88, 0.06)));
  REQUIRE(sizes);
  REQUIRE(sizes->sizes.size() == 1);
  CHECK(sizes->sizes[0].size_mm == Approx(12.94));
  CHECK(sizes->sizes[0].u_mm == Approx(0.03));
  const auto outside = sizes_from_record(record_of(measured(FeatureKind::kOutside, 12.4, 0.004)));
  CHECK(outside->sizes[0].u_mm == Approx(0.004));
}

TEST_CASE("record sizes: an ovality counts where it is shown", "[measure][record]") {
  Feature f = measured(FeatureKind::kOutside, 12.4, 0.004);
  f.ellipse = EllipseResult{};
  f.ellipse->ovality_mm = 0.03, f.ellipse->u_ovality_mm = 0.006, f.ellipse->p_round = 0.001;
  const auto ovality = [&](OutlineForm verdict) {
    f.verdict = verdict;
    return sizes_from_record(record_of(f))->sizes[0].ovality_mm.value_or(0);
  };
  CHECK(ovality(OutlineForm::kOval) == Approx(0.03));
  CHECK(ovality(OutlineForm::kRound) == 0);
  CHECK(ovality(OutlineForm::kLobed) == 0);
  f.ellipse->p_round = 0.2;
  CHECK(ovality(OutlineForm::kOval) == 0);
}
