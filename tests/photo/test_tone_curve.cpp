#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/photo/tone_curve.hpp"

using namespace rondure;

TEST_CASE("tone curve: sRGB as IEC 61966-2-1 gives it", "[photo][tone]") {
  // Values from the standard's formulas: linear part y / 12.92 up to 0.04045, ((y + 0.055) / 1.055)^2.4 above.
  const ToneCurve srgb;
  CHECK(srgb.light(0) == 0);
  CHECK(srgb.light(1) == 1);
  CHECK(srgb.light(0.02) == Approx(0.02 / 12.92).epsilon(1e-12));
  CHECK(srgb.light(128 / 255.0) ==
        Approx(0.215860500).epsilon(1e-8));  // from memory: mid grey 128 is 21.6 % light
}

TEST_CASE("tone curve: a shoulder is the hyperbolic law of saturation", "[photo][tone]") {
  // Stored value y = S^-1( (1 + 1/w) L / (L + 1/w) ): half of full scale is met at L = 1 / (2 + w).
  const ToneCurve curve{false, 0, 0, 3};
  const double y = ToneCurve{}.sample(0.5);
  CHECK(curve.light(y) == Approx(0.2).epsilon(1e-12));
  CHECK(curve.sample(0.2) == Approx(y).epsilon(1e-12));
}

TEST_CASE("tone curve: sample undoes light for every bend, and rises", "[photo][tone]") {
  for (const double g : {-0.4, 0.0, 0.3})
    for (const double a : {-0.4, 0.0, 0.4}) {
      const ToneCurve curve{false, g, a, a == 0.0 ? 3.0 : 0.0};
      double before = -1;
      for (int i = 0; i <= 200; ++i) {
        const double y = i / 200.0;
        CHECK(curve.sample(curve.light(y)) == Approx(y).margin(2e-9));
        CHECK(curve.light(y) > before);
        before = curve.light(y);
      }
    }
  const auto table = ToneCurve{}.light_table(8);
  REQUIRE(table.size() == 256);
  CHECK(table[255] == 1.f);
}
