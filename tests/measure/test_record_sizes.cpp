// What the inference of original sizes is told of a record's features.
#include <catch2/catch.hpp>

#include "rondure/measure/record_sizes.hpp"
#include "rondure/record/profile_section.hpp"

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

namespace {

// Seen from above as 'outside', from the side as 'rim' (better) and 'hub'.
PartRecord seen_both_ways() {
  PartRecord record;
  SideProfile profile;
  const auto add = [&](const std::string& name, double mm, double u) {
    Feature f = measured(FeatureKind::kOutside, mm, u);
    f.name = name;
    record.features.push_back(f);
    if (name == "outside") return;
    ProfileSegment s;
    s.name = name, s.to_mm = 6, s.diameter_mm = Estimate{mm, u};
    profile.segments.push_back(s);
  };
  add("outside", 12.435, 0.019), add("rim", 12.444, 0.005), add("hub", 6.97, 0.005);
  put_profile(record, profile);
  return record;
}

std::vector<std::string> names_of(const RecordSizes& sizes) {
  std::vector<std::string> out;
  for (const SizeObservation& o : sizes.sizes) out.push_back(o.name);
  return out;
}

}  // namespace

// 2026-11-30: the outside from above and the rim from the side, one surface, were two drawn sizes to `original`.
TEST_CASE("a surface seen from above and from the side is one size, called as it is asked for",
          "[measure][original]") {
  using Names = std::vector<std::string>;
  const auto sizes = sizes_from_record(seen_both_ways());
  REQUIRE(sizes);
  REQUIRE(names_of(*sizes) == Names{"rim", "hub"});
  CHECK(sizes->sizes[0].size_mm == 12.444);
  CHECK(sizes->sizes[0].u_mm == 0.005);
  REQUIRE(sizes->warnings.size() == 1);
  CHECK(sizes->warnings[0].text.find("counted once") != std::string::npos);
  const auto called = [&](const Names& texts, bool from_above) {
    RecordSizes s = *sizes;
    return call_as_asked(s, texts, from_above) ? names_of(s) : Names{};
  };
  CHECK(called({"hub", "outside"}, false) == Names{"outside", "hub"});
  CHECK(called({"outside=12.5mm", "a:outside"}, false) ==
        Names{"rim", "hub"});  // names are names, no texts to search
  CHECK(called({"outsides", "hub"}, false) == Names{"rim", "hub"});
  CHECK(called({}, true) == Names{"outside", "hub"});  // beside parts that were seen from above alone
  CHECK(called({"rim"}, true) == Names{"rim", "hub"});
  CHECK(called({"rim", "outside"}, false).empty());
}
