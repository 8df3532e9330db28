// Where an edge moves when its stored values are read with another tone curve.
#pragma once
#include "rondure/photo/tone_curve.hpp"

namespace rondure {

// An edge as placed with one tone curve: levels in that curve's light, blur in px.
struct EdgeLook {
  double dark_light = 0, bright_light = 0, blur_px = 0;
};

struct ToneShift {
  double toward_bright_px = 0;  // the fitted edge moves so far towards the bright side
  double blur_px = 0;           // and has this blur
};

// Least-squares edge (levels, place and blur of a blurred step) through the profile of `look`, read with `to`
// instead of `from`. An edge without contrast stays.
ToneShift tone_shift(const ToneCurve& from, const ToneCurve& to, const EdgeLook& look);

}  // namespace rondure
