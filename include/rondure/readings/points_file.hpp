// Readings typed by hand: the POINTS.csv of the contract, one reading a line (forms: reading_line.hpp).
//
//   # unit: in            unit of all plain numbers: mm, in, thou or um; stands before the first reading, once
//   # orientation: 45     the readings below were taken with the part turned by 45 degrees, counter-clockwise on the
//                         stage, from how it lay at 0 (for the turn-the-part test of a stage)
//   # note: chipped edge  kept for the record
//   # same: film roller   the user's word for the drawing: features of other parts with this word had the same one; the
//                         last such line counts
//   # kept: 12.345,8.200  written by the command `keep`, below the reading that stands as it is; a comment beside a
//                         reading decides nothing, whatever it says
//   # deleted: 1.2,3.4    takes a number, and nothing else
//   # profile: radius     the readings are of a part's profile: position along its axis, and there its radius (or
//                         diameter; or edge: across the axis from anywhere, larger is farther out)
//   x,y                   a header is allowed before the first reading; x_mm,y_mm or x_in,y_in also sets the unit
//   12.345,8.200          # the rest of a line after '#' is a comment
//   12.346,8.201          # again 12.345,8.200: a re-reading of that place; tells how well readings repeat
//
// Files of spreadsheets and other systems: byte-order mark, CR LF, separators left over at the end of a line
// are taken as they come. What is not text (NUL bytes, UTF-16, lines beyond 1000 characters) is refused with
// the line's number.
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"
#include "rondure/readings/reading_line.hpp"

namespace rondure {

// What the second number of a reading along the axis is.
enum class ProfileReading { kRadius, kDiameter, kEdge };
std::string_view profile_word(ProfileReading what);  // "radius", ...
std::optional<ProfileReading> parse_profile_word(std::string_view word);

struct Readings {
  LengthUnit unit = LengthUnit::kMm;
  bool unit_stated = false;  // by the file itself
  std::optional<ProfileReading>
      profile;  // of points x,y = position, value; absent: they lie round an outline
  // The step of the x,y and polar readings: last digit typed (finest of the file; noughts behind that only some have do
  // not count), or 2 or 5 of it where all the readings say so (at least 20 and 8 numbers). A typed number may be
  // anything within half a step: u = step/sqrt(12). 0 = there are none, or they have more than 15 decimals.
  double resolution_mm = 0;
  bool whole_numbers = false;           // whole mm or whole inches only
  std::vector<MeasuredPoint> points;    // x,y lines and polar readings, in order; sigma 0 = not given
  std::vector<double> orientation_rad;  // one a point: how the part was turned; empty when no line says so
  std::vector<std::vector<int>>
      again;  // indexes into points: readings of one and the same place, two or more each
  std::vector<ChordReading> chords;
  std::vector<OverlayReading> overlays;
  std::vector<TwoPointReading> two_points;
  std::vector<std::string> notes;
  std::string same;
  std::vector<int> kept_lines;       // of readings that the reader looked at and keeps: never left out
  std::vector<int> line_of_reading;  // by the number that `record` gives a reading, less one; 0 = deleted
};

inline constexpr int kMostReadings = 1'000'000;

// Errors: kBadLine ("line 17: found 'abc', needed ..."), kMixedUnits, kNotFinite. A text without any reading
// is no error: every list is empty.
Result<Readings> parse_points(const std::string& text, LengthUnit bare = LengthUnit::kMm);

// How well readings of one place repeat, across the edge: pooled standard deviation of the distances from
// `center`, sum over places and readings of (d - mean d)^2 / sum of (n - 1). Absent without any re-reading.
struct Repeatability {
  double s_mm = 0;  // standard deviation of a single reading
  int degrees_of_freedom = 0;
  int places = 0;
};
std::optional<Repeatability> repeatability(const Readings& readings, PartPoint center);

}  // namespace rondure
