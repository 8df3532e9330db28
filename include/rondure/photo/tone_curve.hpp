// The tone curve: which light a stored sample stands for.
//
//   x = S( y + a y (1 - y) (1 - 2 y) ) ^ (1 + g),   y = sample / full scale in [0, 1]
//   light = x / (1 + w (1 - x))
//
// S is the sRGB decoding curve (IEC 61966-2-1). g bends it as a whole (cameras of another gamma), a makes it
// an S (cameras that add contrast), w lets bright light come on more slowly (a shoulder: the hyperbolic law of
// saturation, as in Naka & Rushton 1966, from memory). g = a = w = 0 is sRGB. Light is relative: 1 at full
// scale. Edges must be placed in light: in stored values a blurred edge of a dark part lies 0.2 to 0.7 px
// inside the true one.
#pragma once
#include <vector>

namespace rondure {

struct ToneCurve {
  bool linear = false;     // samples are proportional to light; g, a and w are not used
  double gamma_shift = 0;  // g, about [-0.6, 0.6]
  double s_bend = 0;       // a, about [-0.6, 0.6]; monotone there
  double shoulder = 0;     // w >= 0, up to about 6

  double light(double sample_ratio) const;
  // Inverse of light() on [0, 1]; outside it is continued with the end's slope.
  double sample(double light_ratio) const;
  // light() of every sample value 0 ... 2^bits - 1.
  std::vector<float> light_table(int bits) const;
};

}  // namespace rondure
