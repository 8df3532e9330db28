#include <catch2/catch.hpp>

#include "rondure/photo/scale.hpp"

using namespace rondure;

TEST_CASE("scale: read from words", "[photo][scale]") {
  const auto s = parse_scale_px_per_mm("40.12px/mm+-0.02");
  REQUIRE(s);
  CHECK(s->value == Approx(40.12));
  CHECK(s->u == Approx(0.02));
  CHECK(parse_scale_px_per_mm("40.12 px/mm")->u == Approx(0.003 * 40.12));  // not stated: never exact
  CHECK(parse_scale_px_per_mm("40.12 px/mm+-0")->u == 0);
  CHECK(parse_scale_px_per_mm("1016px/in+-0.508px/in")->value == Approx(40));
  CHECK(parse_scale_px_per_mm("1016px/in+-0.508")->u == Approx(0.02));
  for (const char* text :
       {"", "40.12", "px/mm", "-3px/mm", "0px/mm", "40px/mm+-x", "nanpx/mm", "40px/furlong", "40px/mm+-30"})
    CHECK(parse_scale_px_per_mm(text).error().code == ErrorCode::kBadArgument);
}

TEST_CASE("scale: one pin gives scale, two give scale and edge offset exactly", "[photo][scale]") {
  const double scale = 38.2, offset = 0.31;
  const auto read = [&](double mm, bool dark) {
    return PinReading{{mm, 1e-4}, {scale * mm + (dark ? -2 : 2) * offset, 1e-3}, dark};
  };
  const auto one = scale_from_pins({read(6, true)}, 0.2);
  REQUIRE(one);
  CHECK_FALSE(one->offset_known);
  CHECK(one->px_per_mm.value == Approx((scale * 6 - 2 * offset) / 6).epsilon(1e-6));
  CHECK(std::abs(one->px_per_mm.value - scale) <
        2 * one->px_per_mm.u);  // the unknown offset is in the uncertainty
  const auto two = scale_from_pins({read(3, true), read(10, true)}, 0.2);
  REQUIRE(two);
  CHECK(two->offset_known);
  CHECK(two->px_per_mm.value == Approx(scale).epsilon(2e-5));
  CHECK(two->edge_offset_px.value == Approx(offset).margin(2e-4));
  const auto ring =
      scale_from_pins({read(6, true), read(6, false)}, 0.2);  // a pin and a ring of the same size
  REQUIRE(ring);
  CHECK(ring->edge_offset_px.value == Approx(offset).margin(1e-4));
  const MeasuringPlane plane = plane_of_pins(640, 480, *two);
  CHECK(plane.edge_offset_px == two->edge_offset_px.value);
  CHECK(part_from_pixel(plane, {382, 479})->x_mm == Approx(10).epsilon(1e-4));
}

TEST_CASE("scale: references that contradict each other are refused", "[photo][scale]") {
  const std::vector<PinReading> swapped = {
      {{3, 1e-3}, {382, 1e-2}, true}, {{10, 1e-3}, {114.6, 1e-2}, true}, {{6, 1e-3}, {229, 1e-2}, true}};
  CHECK(scale_from_pins(swapped, 0.2).error().code == ErrorCode::kBadCalibration);
  CHECK(scale_from_pins({}, 0.2).error().code == ErrorCode::kTooFewPoints);
}
