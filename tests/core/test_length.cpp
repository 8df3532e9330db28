#include <catch2/catch.hpp>

#include "rondure/core/length.hpp"

using namespace rondure;

TEST_CASE("length: units, bare numbers and decimal comma", "[core][length]") {
  CHECK(*parse_length_mm("12.7mm") == 12.7);
  CHECK(*parse_length_mm("0.5in") == 12.7);
  CHECK(*parse_length_mm(" 500 thou ") == Approx(12.7).epsilon(1e-15));
  CHECK(*parse_length_mm("12um") == Approx(0.012).epsilon(1e-15));
  CHECK(*parse_length_mm("12,7 mm") == 12.7);
  CHECK(*parse_length_mm("0.5", LengthUnit::kInch) == 12.7);
  CHECK(*parse_length_mm("-1e-3mm") == -1e-3);
}

TEST_CASE("length: the words and signs that people type for an inch", "[core][length]") {
  for (const char* text : {"0.5 inches", "0.5inch", "0.5in", "0.5\"", "0.5\u2033", "0.5\u201d"}) {
    INFO(text);
    const auto mm = parse_length_mm(text);
    REQUIRE(mm);
    CHECK(*mm == Approx(12.7).epsilon(1e-12));  // 1 in = 25.4 mm by definition
  }
}

TEST_CASE("length: what is not a length is refused by code", "[core][length]") {
  for (const char* bad :
       {"", "mm", "12..7mm", "12.7 mn", "1.2.3", "twelve", "1,234.5mm", "0x12mm", "5 mm mm"})
    CHECK(parse_length_mm(bad).error().code == ErrorCode::kBadLength);
  CHECK(parse_length_mm("1e999mm").error().code == ErrorCode::kNotFinite);
  CHECK(parse_length_mm("1e308", LengthUnit::kInch).error().code == ErrorCode::kNotFinite);
  CHECK(parse_length_with_u_mm("1+-1e308in").error().code == ErrorCode::kNotFinite);
  CHECK_FALSE(parse_length_mm("nan").has_value());
  CHECK_FALSE(parse_length_mm("inf mm").has_value());
}

TEST_CASE("length: value with uncertainty", "[core][length]") {
  const auto e = parse_length_with_u_mm("12.30mm+-0.15mm");
  REQUIRE(e);
  CHECK(e->value == 12.30);
  CHECK(e->u == 0.15);
  CHECK(parse_length_with_u_mm("0.512 +- 0.016 in")->value == Approx(13.0048).epsilon(1e-12));
  CHECK(parse_length_with_u_mm("0.512 +- 0.016 in")->u == Approx(0.4064).epsilon(1e-12));
  CHECK(parse_length_with_u_mm("5mm")->u == 0);
  CHECK_FALSE(parse_length_with_u_mm("5mm+--1mm").has_value());
}

TEST_CASE("ratio and temperature", "[core][length]") {
  CHECK(*parse_ratio("0.3%") == Approx(0.003));
  CHECK(parse_ratio_with_u("0.3%+-0.2%")->u == Approx(0.002));
  CHECK(parse_ratio_with_u("0.3+-0.2%")->value == Approx(0.003));
  CHECK(*parse_temperature_c("23C") == 23);
  CHECK(*parse_temperature_c("68F") == Approx(20));
}

TEST_CASE("length: printing shows mm and inch", "[core][length]") {
  CHECK(mm_and_inch(12.7, 3) == "12.700 mm (0.5000 in)");
  CHECK(decimals_for_u(0.012) == 3);
  CHECK(decimals_for_u(0.5) == 2);
}
