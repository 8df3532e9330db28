// Where an edge moves when its stored values are read with another tone curve.
#pragma once
#include <array>

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

// The same edge read with many curves.
class ReadAnew {
public:
  ReadAnew(const ToneCurve& from, const EdgeLook& look);
  // `near`: what a curve much like this one gave, to start from; the answer is the same.
  ToneShift with(const ToneCurve& to, const ToneShift* near = nullptr) const;

private:
  static constexpr int kHalf = 20;  // samples either side
  std::array<double, 2 * kHalf + 1> stored_{};
  std::array<double, 2> ends_{};  // dark and bright, stored
  double blur_px_ = 0;
  bool has_contrast_ = false;
};

}  // namespace rondure
