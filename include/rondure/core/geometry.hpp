// Values by frame. Points of different frames are different types; only functions that hold a calibration turn
// one into another. Lengths are mm (px in a picture), angles rad inside the program.
//
// Frames
//   PixelPoint  picture: x to the right, y DOWN (rows), the centre of the first pixel is (0, 0)
//   StagePoint  comparator stage as read off its dials, in mm: x to the right, y UP
//   PartPoint   the part's plane in mm: x to the right, y UP. Angles counter-clockwise from +x.
#pragma once
#include <Eigen/Core>
#include <numbers>

namespace rondure {

struct PixelPoint {
  double x_px = 0, y_px = 0;
};
struct StagePoint {
  double x_mm = 0, y_mm = 0;
};
struct PartPoint {
  double x_mm = 0, y_mm = 0;
  Eigen::Vector2d vec() const { return {x_mm, y_mm}; }
  static PartPoint from(const Eigen::Vector2d& v) { return {v.x(), v.y()}; }
};

// A point of an outline with what is known of it.
struct MeasuredPoint {
  PartPoint at;
  double sigma_mm = 0;  // standard uncertainty per axis; 0 = not known
  int line = 0;         // line of the readings file, counted from 1; 0 = none
};

struct Circle {
  PartPoint center;
  double radius_mm = 0;
  double diameter_mm() const { return 2 * radius_mm; }
};

// major >= minor > 0; major_axis_rad in [0, pi), counter-clockwise from +x.
struct Ellipse {
  PartPoint center;
  double semi_major_mm = 0, semi_minor_mm = 0;
  double major_axis_rad = 0;
};

struct Interval {
  double lo = 0, hi = 0;
  bool contains(double v) const { return lo <= v && v <= hi; }
  double width() const { return hi - lo; }
};

// A value with its standard uncertainty (GUM).
struct Estimate {
  double value = 0, u = 0;
};

inline constexpr double kPi = std::numbers::pi;
inline constexpr double kMmPerInch = 25.4;  // exact, by definition

// Direction into [0, 2 pi) and axis into [0, pi).
double wrap_direction_rad(double angle_rad);
double wrap_axis_rad(double angle_rad);
constexpr double deg(double rad) { return rad * 180 / kPi; }
constexpr double rad(double deg) { return deg * kPi / 180; }

}  // namespace rondure
