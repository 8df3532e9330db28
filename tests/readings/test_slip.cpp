#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/readings/slip.hpp"

using namespace rondure;

namespace {

// How far from a circle of radius 6 round (20.123, 11.467), in units of 0.005 mm.
double misfit(PartPoint p) { return (std::hypot(p.x_mm - 20.123, p.y_mm - 11.467) - 6) / 0.005; }

Slip why(const std::string& csv) {
  INFO(csv);
  const auto slip = explaining_slip(csv, LengthUnit::kMm, misfit);
  REQUIRE(slip);
  return *slip;
}

}  // namespace

TEST_CASE("slip: what was meant is found", "[readings][slip]") {
  // meant: 24.366,15.710 (45 degrees) and 26.123,11.467 (0 degrees)
  CHECK(why("15.710,24.366").csv == "24.366,15.710");
  CHECK(why("15.710,24.366").what == "x and y swapped");
  CHECK(why("-24.366,15.710").csv == "24.366,15.710");
  CHECK(why("24.366,1.5710").csv == "24.366,15.710");
  CHECK(why("24.366,0.15710").csv == "24.366,15.710");
  CHECK(why("24.366,0.0015710").csv == "24.366,15.710");  // four places, the most that are tried
  CHECK(why("243.66,157.10").csv == "24.366,15.710");
  CHECK(why("0.9593,0.6185").what == "typed in inch");
  CHECK(why("24.366,17.510").what == "two digits of y swapped");
  CHECK(why("24.366,17.510").csv == "24.366,15.710");
  CHECK(why("25.366,15.710").csv == "24.366,15.710");
  CHECK(why("25.366,15.710").what == "one digit of x");
  CHECK(why("54.366,15.710").csv == "24.366,15.710");
  CHECK_FALSE(explaining_slip("991.2,5.5", LengthUnit::kMm, misfit));
  CHECK(possible_slips("chord 5 sagitta 0.1", LengthUnit::kMm).empty());
  CHECK(possible_slips("1e3,2", LengthUnit::kMm).empty());
}

TEST_CASE("slip: 12.345 typed as 12.435 is named as a swap", "[readings][slip]") {
  // radius 6 round (6.345, 8.2): the point at 0 degrees is 12.345,8.200
  const auto off = [](PartPoint p) { return (std::hypot(p.x_mm - 6.345, p.y_mm - 8.2) - 6) / 0.005; };
  const auto slip = explaining_slip("12.435,8.200", LengthUnit::kMm, off);
  REQUIRE(slip);
  CHECK(slip->what == "two digits of x swapped");
  CHECK(slip->csv == "12.345,8.200");
}

TEST_CASE("slip: mm typed among inches", "[readings][slip]") {
  const auto inch = [](PartPoint p) { return misfit(p); };
  const auto slip = explaining_slip("24.366,15.710", LengthUnit::kInch, inch);
  REQUIRE(slip);
  CHECK(slip->what == "typed in mm");
  CHECK(slip->csv == "0.95929,0.61850");
}

TEST_CASE("readings typed without the decimal sign", "[readings][digits]") {
  CHECK(with_decimals("12345 8200", 4) == "1.2345 0.8200");
  CHECK(with_decimals("-50,+7", 4) == "-0.0050,0.0007");
  CHECK(with_decimals("12345 8.2", 4) == "1.2345 8.2");
  CHECK(with_decimals("12345;8200", 3) == "12.345;8.200");
  CHECK(with_decimals("12,5 8,2", 4) == "12,5 8,2");
  CHECK(with_decimals("1e3 5", 2) == "1e3 0.05");
  CHECK(with_decimals("0 0", 4) == "0.0000 0.0000");
  CHECK(with_decimals("chord 2500 sagitta 155", 4) == "chord 0.2500 sagitta 0.0155");
  CHECK(with_decimals("chord 5mm sagitta 1 mm", 4) == "chord 5mm sagitta 1 mm");
  CHECK(with_decimals("two-point 4733 at 30", 4) == "two-point 0.4733 at 30");
  CHECK(with_decimals("overlay 12 +- 1", 4) == "overlay 12 +- 1");
  CHECK(with_decimals("12345 8200", 0) == "12345 8200");
}
