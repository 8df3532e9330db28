#include "rondure/core/geometry.hpp"

#include <cmath>

namespace rondure {
namespace {
double wrap(double angle, double period) {
  const double a = std::fmod(angle, period);
  const double w = a < 0 ? a + period : a;
  return w >= period ? 0.0 : w;  // a tiny negative angle rounds up to the period itself
}
}  // namespace

double wrap_direction_rad(double angle_rad) { return wrap(angle_rad, 2 * kPi); }
double wrap_axis_rad(double angle_rad) { return wrap(angle_rad, kPi); }

}  // namespace rondure
