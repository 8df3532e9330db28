// A reading of another kind that came without an uncertainty, beside coordinates.
#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/interpret/outline.hpp"

using namespace rondure;

TEST_CASE("outline: a diameter without an uncertainty is named, weighs nothing, and no figure is missing",
          "[outline]") {
  std::vector<MeasuredPoint> points;
  for (int i = 0; i < 12; ++i) {
    const double t = 2 * kPi * i / 12, r = 10 + 0.002 * ((i * 7) % 3 - 1);
    points.push_back({{r * std::cos(t), r * std::sin(t)}});
  }
  OutlineOptions options;
  const auto alone = measure_outline(points, options);
  options.others = {{OutlineReading::Kind::kTwoPoint, {20.4, 0}, {}, 0.5, 13}};
  const auto feature = measure_outline(points, options);
  REQUIRE(alone);
  REQUIRE(feature);
  REQUIRE(feature->combination.size() == 2);
  CHECK(feature->combination[0].weight == 1);
  CHECK(feature->combination[1].weight == 0);
  CHECK_FALSE(feature->p_readings_agree);
  CHECK(feature->circle->diameter_mm == Approx(alone->circle->diameter_mm).epsilon(1e-9));
  bool named = false;
  for (const auto& w : feature->warnings)
    named = named || w.text.find("two-point, line 13 came without") != std::string::npos;
  CHECK(named);
}
