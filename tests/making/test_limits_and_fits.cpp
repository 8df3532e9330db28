#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/making/limits_and_fits.hpp"
#include "trade_table.hpp"

using namespace rondure;
using namespace rondure::plan;

namespace {
double um(double mm) { return mm * 1000; }
LimitDeviations deviations(double nominal_mm, const char* text) {
  const auto c = parse_tolerance_class(text);
  REQUIRE(c);
  const auto d = limit_deviations(nominal_mm, *c);
  REQUIRE(d);
  return *d;
}
}  // namespace

// Source: ISO 286-1/-2:2010, tables from memory, compared cell by cell with a public table (header of the
// file).
TEST_CASE("limits: every class of the ISO 286 fixture to the micrometre", "[plan][fits]") {
  const auto rows = trade_table("iso286_limits.csv");
  int checked = 0;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const double over = std::stod(rows[i][1]), upto = std::stod(rows[i][2]);
    for (const double size : {over + 1e-3, (over + upto) / 2, upto}) {
      INFO(rows[i][0] << " at " << size);
      const auto d = deviations(size, rows[i][0].c_str());
      CHECK(um(d.upper_mm) == Approx(std::stod(rows[i][3])).margin(1e-6));
      CHECK(um(d.lower_mm) == Approx(std::stod(rows[i][4])).margin(1e-6));
      ++checked;
    }
  }
  CHECK(checked >= 1150);
}

// Source: column "check" of the file names the published page of each worked fit, or "computed".
TEST_CASE("fits: worked fits of ISO 286 with their clearances", "[plan][fits]") {
  const auto rows = trade_table("fit_examples.csv");
  CHECK(rows.size() > 40);
  for (std::size_t i = 1; i < rows.size(); ++i) {
    INFO(rows[i][0] << " " << rows[i][1]);
    const auto fit = parse_fit(rows[i][1]);
    REQUIRE(fit);
    const auto f = fit_limits(std::stod(rows[i][0]), *fit);
    REQUIRE(f);
    CHECK(um(f->hole.upper_mm) == Approx(std::stod(rows[i][2])).margin(1e-6));
    CHECK(um(f->hole.lower_mm) == Approx(std::stod(rows[i][3])).margin(1e-6));
    CHECK(um(f->shaft.upper_mm) == Approx(std::stod(rows[i][4])).margin(1e-6));
    CHECK(um(f->shaft.lower_mm) == Approx(std::stod(rows[i][5])).margin(1e-6));
    CHECK(um(f->min_clearance_mm) == Approx(std::stod(rows[i][6])).margin(1e-6));
    CHECK(um(f->max_clearance_mm) == Approx(std::stod(rows[i][7])).margin(1e-6));
    CHECK(name(f->kind) == rows[i][8]);
  }
}

TEST_CASE("limits: looked up, not computed from the power law", "[plan][fits]") {
  // ISO 286-1 table 1 (from memory): IT7 up to 3 mm is 10 um; 16 i with i = 0.45 D^(1/3) + 0.001 D would
  // give 8.7
  const double d = std::sqrt(1.0 * 3.0);
  const double computed_um = 16 * (0.45 * std::cbrt(d) + 0.001 * d);
  CHECK(computed_um == Approx(8.7).margin(0.05));
  CHECK(um(*standard_tolerance_mm(2, 7)) == Approx(10));
  CHECK(um(*standard_tolerance_mm(10, 7)) == Approx(15));   // the power law gives 14
  CHECK(um(deviations(25, "d9").upper_mm) == Approx(-65));  // the power law gives -64
}

TEST_CASE("limits: the step belongs to the smaller sizes, also when it came from inches", "[plan][fits]") {
  CHECK(um(deviations(3, "H7").upper_mm) == Approx(10));
  CHECK(um(deviations(std::nextafter(3, 4), "H7").upper_mm) == Approx(10));
  CHECK(um(deviations(3.0001, "H7").upper_mm) == Approx(12));
  CHECK(um(deviations(30, "H7").upper_mm) == Approx(21));
}

TEST_CASE("limits: what the tables do not hold is refused, not guessed", "[plan][fits]") {
  for (const char* bad : {"", "7", "H", "Hp7", "H7x", "H777", "h-7", "H7.5"})
    CHECK(parse_tolerance_class(bad).error().code == ErrorCode::kBadArgument);
  for (const char* bad : {"H7", "p6/H7", "H7/", "H7-p6", "h7/p6", "H7/P6"})
    CHECK_FALSE(parse_fit(bad).has_value());
  for (const char* unheld : {"a9", "T7", "zc6", "H3", "H17", "K9"})
    CHECK_FALSE(limit_deviations(12, *parse_tolerance_class(unheld)).has_value());
  for (const double size : {0.0, -3.0, 50.01, 1e9, std::nan("")})
    CHECK_FALSE(limit_deviations(size, *parse_tolerance_class("H7")).has_value());
  CHECK_FALSE(limit_deviations(30.01, *parse_tolerance_class("p6")).has_value());
  CHECK(um(deviations(40, "H7").upper_mm) == Approx(25));  // ISO 286-1 table 1
}

// Source: ANSI B4.1-1967 (R1999) table 11, as reprinted in a machinist's handbook, 27th ed. p. 663 (table
// file's header).
TEST_CASE("fits: ANSI B4.1 force fits by size", "[plan][fits]") {
  const auto thou = [](double mm) { return mm / 0.0254; };
  const auto fn1 = force_fit_interference_mm(2.0, "FN1");
  REQUIRE(fn1);
  CHECK(thou(fn1->lo) == Approx(0.05));
  CHECK(thou(fn1->hi) == Approx(0.5));
  const auto fn2 = force_fit_interference_mm(12.7, "FN2");  // 0.5 in
  CHECK(thou(fn2->lo) == Approx(0.5));
  CHECK(thou(fn2->hi) == Approx(1.6));
  CHECK(thou(force_fit_interference_mm(0.12 * 25.4, "FN2")->hi) == Approx(0.85));
  CHECK_FALSE(force_fit_interference_mm(40, "FN1").has_value());
  CHECK_FALSE(force_fit_interference_mm(2, "FN9").has_value());
  // common practice, no source: 0.0004 to 0.0005 in holds a small brass pulley on a 2 mm shaft; it lies
  // inside FN2 and at the top of FN1
  for (const double inch : {0.0004, 0.0005}) {
    CHECK(fn1->contains(inch * 25.4 - 1e-12));
    CHECK(force_fit_interference_mm(2, "FN2")->contains(inch * 25.4));
  }
}
