// Figures as they are printed: limits inwards, axes that differ by the ovality, lines within the width.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "rondure/core/shown.hpp"

using namespace rondure;

TEST_CASE("printed limits lie inside those of the record, in every unit", "[core][shown]") {
  std::mt19937 random(20261128);
  std::uniform_real_distribution<double> size(0.2, 400), log_width(-4.3, 0.5);
  for (int i = 0; i < 4000; ++i) {
    const double lo = size(random), hi = lo + std::pow(10, log_width(random));
    const PrintedLimits p(lo, hi, (lo + hi) / 2);
    INFO(lo << " " << hi);
    for (const LengthUnit unit :
         {LengthUnit::kMm, LengthUnit::kInch, LengthUnit::kThou, LengthUnit::kMicrometre}) {
      const double per = mm_per(unit), lower = std::stod(p.lower(unit)), upper = std::stod(p.upper(unit)),
                   target = std::stod(p.target(unit));
      const double least = 2e-7;  // mm: what "0.0001 of the last figure" may add
      CHECK(lower * per >= lo - least);
      CHECK(upper * per <= hi + least);
      CHECK(lower <= upper);
      CHECK(target >= lower);
      CHECK(target <= upper);
      CHECK(upper - lower > (hi - lo) / per - 2 * (unit == LengthUnit::kMm ? 1.001e-3 : 0.02 / per));
    }
  }
}

TEST_CASE("printed limits: whole micrometres stay, finer ones are kept, a size without limits is rounded",
          "[core][shown]") {
  const PrintedLimits bore(2.983, 2.993, 2.988);
  CHECK(bore.range(LengthUnit::kMm) == "2.983 to 2.993");
  CHECK(bore.range(LengthUnit::kInch) == "0.11745 to 0.11783");  // 2.98323 and 2.99288 mm
  CHECK(bore.range(LengthUnit::kThou) == "117.45 to 117.83");
  CHECK(bore.target(LengthUnit::kInch) == "0.11764");
  CHECK(PrintedLimits(2.9834, 2.9891, 2.98625).range(LengthUnit::kMm) == "2.9834 to 2.9891");
  const PrintedLimits half_inch({}, {}, 12.7);
  CHECK(half_inch.range(LengthUnit::kMm) == "12.700");
  CHECK(half_inch.range(LengthUnit::kInch) == "0.5000");
  const PrintedLimits run_out({}, 0.013);
  CHECK(run_out.range(LengthUnit::kMm) == "up to 0.013");
  CHECK(run_out.range(LengthUnit::kInch) == "up to 0.00051");
  CHECK(PrintedLimits({}, {}).range(LengthUnit::kMm).empty());
}

TEST_CASE("printed axes differ by the ovality as printed", "[core][shown]") {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> size(1, 300), ovality(0, 0.4);
  for (int i = 0; i < 2000; ++i) {
    const double o = ovality(random), mean = size(random);
    for (const int decimals : {1, 2, 3, 4})
      for (const bool inch : {false, true}) {
        const auto axes = printed_axes(mean + o / 2, mean - o / 2, o, decimals, inch);
        const double grid = std::pow(10.0, decimals + (inch ? 1 : 0)), unit = inch ? 25.4 : 1;
        CHECK(std::lround((std::stod(axes.major) - std::stod(axes.minor)) * grid) ==
              std::lround(o / unit * grid));
        CHECK(std::stod(axes.major) * unit == Approx(mean + o / 2).margin(1.01 * unit / grid));
      }
  }
}

TEST_CASE("lengths lead with the unit asked for", "[core][shown]") {
  CHECK(LengthWords().both(12.4442, 0.0131) == "12.444 +- 0.013 mm   0.4899 +- 0.0005 in");
  CHECK(LengthWords(LengthUnit::kInch).both(12.4442, 0.0131) == "0.4899 +- 0.0005 in   12.444 +- 0.013 mm");
  CHECK(LengthWords(LengthUnit::kThou).both(12.4442, 0.0131, true) ==
        "0.4899 +- 0.0005 in (12.444 +- 0.013 mm)");
  CHECK(LengthWords(LengthUnit::kInch).range({12.419, 12.469}, 3) ==
        "0.4889 to 0.4909 in   12.419 to 12.469 mm");
  CHECK(LengthWords().one(-0.00001, 3) == "0.000 mm");  // never "-0.000"
}

TEST_CASE("wrapped text keeps to the width, a long word alone excepted", "[core][shown]") {
  const std::string words =
      "the bore would reach 681 MPa, over the 250 MPa at which it yields: \u00b1 0.002 mm, "
      "averylongwordwithoutanyplacetobreakitinhalf and so on";
  for (const std::size_t width : {30, 40, 80, 100}) {
    const std::string text = wrapped(words, "Caution   ", "          ", width);
    std::string joined;
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = text.find('\n', at);
      const std::string line = text.substr(at, end - at);
      CHECK((line.size() <= width + 1 || line.find("averylong") != std::string::npos));  // one two-byte sign
      joined += (joined.empty() ? "" : " ") + line.substr(10);
      at = end + 1;
    }
    CHECK(joined == words);
  }
}

TEST_CASE("a sentence with lengths in mm leads with inches where these are asked for", "[core][shown]") {
  const LengthWords inch(LengthUnit::kInch), mm;
  const auto said = [&](const std::string& text) { return inch.sentence(text); };
  CHECK(said("lies 0.0438 +- 0.0002 mm (0.00172 +- 0.00001 in) off the centre") ==
        "lies 0.00172 +- 0.00001 in (0.0438 +- 0.0002 mm) off the centre");
  CHECK(said("coaxiality: 0.0876 mm, 0.00345 in)") == "coaxiality: 0.00345 in, 0.0876 mm)");
  CHECK(said("oval by 0.0508 +- 0.0254 mm, long axis") ==
        "oval by 0.00200 +- 0.00100 in (0.0508 +- 0.0254 mm), long axis");
  CHECK(said("an edge 6 mm up, -2.54 mm away.") == "an edge 0.24 in (6 mm) up, -0.100 in (-2.54 mm) away.");
  CHECK(said("12.70 or 25.40 mm") == "0.500 or 1.000 in (12.70 or 25.40 mm)");
  CHECK(said("'hub' 12.345 mm (0.48602 in)") == "'hub' 0.48602 in (12.345 mm)");
  CHECK(said("u of 0.0001 mm or more") == "u of 0.000004 in (0.0001 mm) or more");
  CHECK(said("the bore (2.992 mm) supports 12.5 mm: 76 % with it") ==
        "the bore (0.1178 in, 2.992 mm) supports 12.5 mm: 76 % with it");
  for (const char* stays :
       {"type --height 6mm", "a 3 mm H7 reamer", "50 mm as on 35 mm film", "12 px/mm", "5 mm^2", "40 N mm"}) {
    const std::string text = stays;
    if (text.find("50 mm") == std::string::npos) CHECK(said(text) == text);
    CHECK(mm.sentence(text) == text);
  }
}
