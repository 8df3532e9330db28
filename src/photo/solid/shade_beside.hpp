// How much of the sky a standing round part hides from the ground beside it.
//
// A horizontal spot of ground under a sky of one light, at the distance d from an upright cylinder (radius R, height h)
// whose wall sends no light of its own: the share of its light that it loses is
//   (1 / 2 pi) integral over the azimuth of h^2 / (h^2 + D^2), D the distance to the wall in that azimuth,
// 1/2 at the foot of a long wall, from there falling over about the height. Given as a ratio to that at the foot: the
// amount (walls that shine back, light that comes from some sides only) is for the picture to tell. Lengths mm.
// Where the sky's light goes with sin^(2m - 2) of the height above the horizon (most of it from above: ceiling, tent, lamp
// overhead), the ratio under the integral stands in its m-th power.
// Source: irradiance of a surface by a uniform hemisphere, cosine law (common practice, no source).
#pragma once
#include <vector>

namespace rondure {

class ShadeBeside {
public:
  // All above zero; `power`: m, 1 for an even sky.
  ShadeBeside(double radius_mm, double height_mm, int power = 1);
  // Within the wall (d < 0): on along the slope at the foot.
  double at(double from_foot_mm) const;
  double slope_at(double from_foot_mm) const;  // per mm

private:
  double step_mm_ = 1;
  std::vector<double> table_;
};

}  // namespace rondure
