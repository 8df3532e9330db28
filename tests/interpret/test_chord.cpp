// Radius from chord and sagitta against a worked figure of the trade and against geometry.
#include <catch2/catch.hpp>
#include <cmath>

#include "interpret/outline_parts.hpp"
#include "rondure/interpret/outline.hpp"

using namespace rondure;

TEST_CASE("chord and sagitta: the trade's worked figure", "[interpret][arc]") {
  // Common practice, no source: chord 0.250 in, sagitta 0.0155 in gives R 0.512 in (0.5118), and half a thou of
  // sagitta is worth 0.016 in of radius.
  const auto feature = measure_chord({0.250 * kMmPerInch, 0}, {0.0155 * kMmPerInch, 0.0005 * kMmPerInch});
  REQUIRE(feature);
  CHECK(feature->circle->diameter_mm / 2 / kMmPerInch == Approx(0.5118).margin(0.00005));
  REQUIRE(feature->circle->u_diameter_mm);
  CHECK(*feature->circle->u_diameter_mm / 2 / kMmPerInch == Approx(0.016).margin(0.0005));
  // The interval is skew: further up than down.
  REQUIRE(feature->circle->diameter95_mm);
  const double d = feature->circle->diameter_mm;
  CHECK(feature->circle->diameter95_mm->hi - d > d - feature->circle->diameter95_mm->lo);
}

TEST_CASE("chord and sagitta: exact on a circle, beyond the half circle too", "[interpret][arc]") {
  for (const double half_deg : {5.0, 40.0, 90.0, 130.0}) {
    const double radius = 7.25, chord = 2 * radius * std::sin(rad(half_deg)),
                 h = radius * (1 - std::cos(rad(half_deg)));
    const auto feature = measure_chord({chord, 0}, {h, 0});
    REQUIRE(feature);
    CHECK(feature->circle->diameter_mm / 2 == Approx(radius).epsilon(1e-12));
    CHECK(feature->points.coverage_deg == Approx(2 * half_deg).epsilon(1e-9));
  }
}

TEST_CASE("chord and sagitta: refusals", "[interpret][arc]") {
  CHECK(measure_chord({0, 0}, {1, 0}).error().code == ErrorCode::kBadArgument);
  CHECK(measure_chord({5, 0}, {-1, 0}).error().code == ErrorCode::kBadArgument);
  CHECK(measure_chord({5, 0}, {0.01, 0.01}).error().code == ErrorCode::kRadiusUndetermined);
}

// A chord lies between two edges, a sagitta between one and the mean of two (propagation of uncertainty, JCGM 100:2008, 5.1.2).
TEST_CASE("chord and sagitta: without a word on it each is as unsure as the edges that it hangs on",
          "[interpret][arc]") {
  OutlineOptions options;
  options.sigma_mm = 0.004;
  const OutlineReading chord =
      with_default_uncertainty({OutlineReading::Kind::kChord, {5, 0}, {0.5, 0}, 0, 1}, options);
  CHECK(chord.first.u == Approx(0.004 * std::sqrt(2.0)));
  CHECK(chord.second.u == Approx(0.004 * std::sqrt(1.5)));
  const OutlineReading width =
      with_default_uncertainty({OutlineReading::Kind::kTwoPoint, {12, 0}, {}, 0, 2}, options);
  CHECK(width.first.u == Approx(0.004 * std::sqrt(2.0)));
  const OutlineReading told =
      with_default_uncertainty({OutlineReading::Kind::kChord, {5, 0.01}, {0.5, 0.02}, 0, 3}, options);
  CHECK(told.first.u == 0.01);
  CHECK(told.second.u == 0.02);
}
