// One reading, one line: the forms of the contract's POINTS.csv, as a person types them.
//
//   12.345,8.2            a point of the outline, in the file's unit; comma, semicolon, tab or spaces between
//   12,345 8,2            decimal comma, where something else than a comma separates
//   12.345,8.2,0.002      with its standard uncertainty per axis
//   chord C sagitta H     each with an uncertainty if wanted: chord 0.250in sagitta 0.0155in+-0.0005in
//   overlay R +- U        the nearest radius line of the screen overlay, and its standard uncertainty
//   two-point D at A      a calliper or micrometer diameter D across the axis at A degrees
//   polar R at A          a point R from the origin in the direction of A degrees
//
// Words in any case. Lengths may carry their own unit ("0.5123in 3.00mm"); a point's are turned into the
// file's unit, to the decimals that keep the step they were read in (0.0001 in -> 0.001 mm). Angles in
// degrees, counter-clockwise from +x, y up.
#pragma once
#include <string>
#include <string_view>
#include <variant>

#include "rondure/core/geometry.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct ChordReading {
  Estimate chord_mm, sagitta_mm;
  int line = 0;
};
struct OverlayReading {
  Estimate radius_mm;
  int line = 0;
};
struct TwoPointReading {
  Estimate diameter_mm;
  double at_rad = 0;   // [0, pi)
  double step_mm = 0;  // last digit typed of the diameter
  int line = 0;
};
struct PolarReading {
  double radius_mm = 0, at_rad = 0;  // [0, 2 pi)
  double sigma_mm = 0;               // 0 = not given
  int line = 0;
};

struct Reading {
  std::variant<MeasuredPoint, PolarReading, ChordReading, OverlayReading, TwoPointReading> value;
  std::string csv;   // the line as the file keeps it: digits as typed, "." as the decimal sign, "," between
  int decimals = 0;  // of a point: digits after the decimal sign, the finer of x and y (polar: of R)
  bool converted = false;  // a number carried another unit: csv has other digits than were typed
};

// Largest coordinate that can be meant: beyond it the squares of a fit lose themselves.
inline constexpr double kLargestReading_mm = 1e9;
inline constexpr std::size_t kLongestLine_bytes = 1000;

// The point of a polar reading.
MeasuredPoint point_of(const PolarReading& polar);

// `text` is one line without its comment and its line end. Errors, without a line number: kBadLine,
// kNotFinite.
Result<Reading> parse_reading_line(std::string_view text, LengthUnit unit);

// The last digit typed of a length: "0.2500in +- 0.0002in" -> 0.0001 in; of a fraction what it counts: 3/16in -> 1/16 in.
double typed_step_mm(std::string_view text, LengthUnit unit);

// A unit in a sentence: "mm", "inch", "thou", "um".
std::string_view unit_word(LengthUnit unit);

}  // namespace rondure
