// A part turned about its axis between pictures: what turns with it is the part's, what stays is the camera's, the
// board's or the scanner's. The turn-the-part test of the comparator, for pictures.
//
// Model: of each picture's outline the harmonics z_n = a_n + i b_n (radius, mm; n = 2 to kHighestTurnedUpr) are
// z_n,k = P_n exp(i n t_k) + Q_n with the part turned by t_k: P of the part (in the frame of the first picture), Q of
// the picture; complex least squares, u from what is left over all n. Angles that a harmonic cannot tell apart
// (72 degrees, n = 5) leave it undivided. The part's answer is that of all pictures turned back, Q taken off; what is
// wrong in all of them alike (scale of the print, height, edge) stays in its budget. A stretch of the picture by e
// along one direction makes |Q_2| = e R / 2.
// Angles are given, or found from marks: nibs, nicks and lobes of order 3 and more. Lengths mm, angles counter-clockwise.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/measure/measure_photo.hpp"

namespace rondure {

inline constexpr int kHighestTurnedUpr = 6;

struct TurnedHarmonic {
  int upr = 2;
  double part_mm = 0, part_phase_deg = 0;  // amplitude of the radius and its first crest
  double picture_mm = 0, picture_phase_deg = 0;
  double u_part_mm = 0, u_picture_mm = 0;  // standard, of each component
  bool divided = true;                     // the angles tell part and picture apart
};

// What one picture gave.
struct TurnedPicture {
  std::string name;
  double angle_deg = 0;
  double diameter_mm = 0, ovality_mm = 0;  // by itself; ovality of its own second harmonic
};

struct TurnedOutlines {
  std::vector<TurnedHarmonic> harmonics;
  std::vector<MeasuredPoint> points;  // of all, turned back, about (0, 0)
  double radius_mm = 0;
};

// Outlines about their own middles. Errors: kBadArgument (fewer than three, angles not one each, or too alike for n = 2).
struct TurnedOutline {
  double radius_mm = 0;
  std::vector<ProfilePoint> profile;
};
Result<TurnedOutlines> divide_turned(const std::vector<TurnedOutline>& outlines,
                                     const std::vector<double>& angles_deg);
// How far each was turned from the first, by its marks. Errors: kNoAnswer where no mark tells.
Result<std::vector<double>> turned_angles(const std::vector<TurnedOutline>& outlines);

struct TurnedMeasurement {
  Feature feature;  // the part
  std::vector<TurnedPicture> pictures;
  std::vector<TurnedHarmonic> harmonics;
  bool angles_found = false;
  double ovality_part_mm = 0, u_ovality_part_mm = 0;
  double ovality_picture_mm = 0, u_ovality_picture_mm = 0, picture_axis_deg = 0;
  double stretch_ratio = 0, u_stretch_ratio = 0;  // of the pictures along picture_axis_deg
};

// The outside in each. `angles_deg`: empty = found. Errors: those of measure_photo, divide_turned, turned_angles;
// kNoAnswer where a picture shows another size.
Result<TurnedMeasurement> measure_turned(const std::vector<std::string>& files, const PhotoOptions& options,
                                         const std::vector<double>& angles_deg);

}  // namespace rondure
