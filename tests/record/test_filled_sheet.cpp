// A filled-in check sheet as features: radii of arcs, and whose uncertainty.
#include <catch2/catch.hpp>

#include "rondure/record/filled_sheet.hpp"

using namespace rondure;

TEST_CASE("check sheet: an arc is given by its radius, limits and all", "[record][sheet]") {
  const auto sheet = parse_filled_sheet(
      "name,kind,target,lower,upper,measured,u,unit\n"
      "crown,arc,13.000,12.900,13.100,12.950,0.010,mm\n"
      "outside,outside,12.500,12.487,12.513,12.495,0.002,mm\n");
  REQUIRE(sheet);
  REQUIRE(sheet->features.size() == 2);
  CHECK(sheet->features[0].circle->diameter_mm == Approx(25.900));
  CHECK(*sheet->features[0].circle->u_diameter_mm == Approx(0.020));
  CHECK(sheet->limits.at("crown").target_mm == Approx(26.000));
  CHECK(*sheet->limits.at("crown").limits.lower_mm == Approx(25.800));
  CHECK(sheet->features[1].circle->diameter_mm == Approx(12.495));
}

TEST_CASE("check sheet: a row without u takes the instrument's, one with u keeps its own",
          "[record][sheet]") {
  const auto sheet = parse_filled_sheet(
      "name,kind,measured,u,unit\noutside,outside,12.495,,mm\nhub,outside,6.97,0.005,mm\nbore,bore,3,,mm\n",
      {{"outside", 0.002}, {"hub", 0.001}});
  REQUIRE(sheet);
  CHECK(*sheet->features[0].circle->u_diameter_mm == Approx(0.002));
  CHECK(*sheet->features[1].circle->u_diameter_mm == Approx(0.005));
  CHECK_FALSE(sheet->features[2].circle->u_diameter_mm);
}
