// How far an edge may lie off because the camera's tone curve was taken for granted.
#pragma once
#include "rondure/photo/tone_curve.hpp"

namespace rondure {

// Standard uncertainty of one edge's place, px: root mean square of the displacements that other common
// curves (a tenth of a gamma's spread up and down, an S-curve) would have given an edge of these levels and
// this blur.
double tone_spread_px(const ToneCurve& assumed, double dark_light, double bright_light, double blur_px);

}  // namespace rondure
