// Sectors of an outline left out or taken in by a person.
#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/interpret/outline.hpp"

using namespace rondure;

namespace {
// 120 points on 20 mm round (100, 50); from 40 to 60 deg they stand 0.2 mm high, a nib.
std::vector<MeasuredPoint> with_nib(double nib_mm) {
  std::vector<MeasuredPoint> out;
  for (int i = 0; i < 120; ++i) {
    const double d = 3.0 * i, r = 10 + (d >= 40 && d <= 60 ? nib_mm : 0) + 0.001 * std::sin(97.0 * i);
    out.push_back({{100 + r * std::cos(rad(d)), 50 + r * std::sin(rad(d))}, 0, i + 1});
  }
  return out;
}
bool told(const Feature& feature) {
  for (const Warning& w : feature.warnings)
    if (w.code == "chosen-by-hand") return true;
  return false;
}
}  // namespace

TEST_CASE("outline: a sector left out by hand carries nothing and is named", "[interpret][outline]") {
  auto points = with_nib(0);
  // a bulge too flat to be taken for damage by itself, but the reader knows
  for (int i = 60; i < 80; ++i) points[i].at.x_mm -= 0.003;
  const auto as_found = measure_outline(points);
  OutlineOptions options;
  options.left_out = {{179, 239}};
  const auto by_hand = measure_outline(points, options);
  REQUIRE(as_found);
  REQUIRE(by_hand);
  CHECK_FALSE(told(*as_found));
  CHECK(told(*by_hand));
  REQUIRE(by_hand->excluded.size() == 1);
  CHECK(by_hand->excluded[0].points == 20);
  CHECK(by_hand->excluded[0].lines.front() == 61);
  CHECK(by_hand->points.used == 100);
  CHECK(by_hand->points.count == 120);
  CHECK(by_hand->circle->diameter_mm == Approx(20).margin(0.002));
  CHECK(std::abs(as_found->circle->center.x_mm - 100) > std::abs(by_hand->circle->center.x_mm - 100));
}

TEST_CASE("outline: what looks like damage is taken in when a person says so", "[interpret][outline]") {
  const auto points = with_nib(0.2);
  const auto as_found = measure_outline(points);
  REQUIRE(as_found);
  REQUIRE(as_found->excluded.size() == 1);
  OutlineOptions options;
  options.taken_in = {{35, 65}};
  const auto by_hand = measure_outline(points, options);
  REQUIRE(by_hand);
  CHECK(by_hand->excluded.empty());
  CHECK(by_hand->points.used == 120);
  CHECK(by_hand->circle->diameter_mm > as_found->circle->diameter_mm + 0.01);
  OutlineOptions other;
  other.taken_in = {{200, 220}};  // nothing was left out there: nothing changes
  CHECK(measure_outline(points, other)->points.used == as_found->points.used);
}

TEST_CASE("outline: a sector may pass 360, be a whole turn, or leave too little", "[interpret][outline]") {
  CHECK(OutlineSector{350, 10}.holds(0));
  CHECK(OutlineSector{350, 10}.holds(355));
  CHECK_FALSE(OutlineSector{350, 10}.holds(11));
  CHECK(OutlineSector{-10, 10}.holds(355));
  CHECK(OutlineSector{0, 360}.holds(359.9));
  OutlineOptions all;
  all.left_out = {{0, 360}};
  CHECK_FALSE(measure_outline(with_nib(0), all));
  OutlineOptions broken;
  broken.left_out = {{std::nan(""), 10}};
  CHECK(measure_outline(with_nib(0), broken).error().code == ErrorCode::kNotFinite);
}
