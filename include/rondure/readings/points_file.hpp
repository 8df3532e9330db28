// Readings typed by hand: the POINTS.csv of the contract (x,y[,sigma] and the other reading forms, one a line).
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct ChordReading { Estimate chord_mm, sagitta_mm; int line = 0; };
struct OverlayReading { Estimate radius_mm; int line = 0; };
struct TwoPointReading { Estimate diameter_mm; double at_rad = 0; int line = 0; };
struct PolarReading { double radius_mm = 0, at_rad = 0; int line = 0; };

struct Readings {
  LengthUnit unit = LengthUnit::kMm;
  double resolution_mm = 0;  // the last digit that the x,y readings carry (finest of the file); 0 = cannot be told
  std::vector<MeasuredPoint> points;  // x,y lines and polar readings, in order; sigma 0 = not given
  std::vector<ChordReading> chords;
  std::vector<OverlayReading> overlays;
  std::vector<TwoPointReading> two_points;
  std::vector<std::string> notes;
};

// Errors: kBadLine ("line 17: found 'abc', needed ..."), kMixedUnits, kNotFinite.
Result<Readings> parse_points(const std::string& text, LengthUnit bare = LengthUnit::kMm);

}  // namespace rondure
