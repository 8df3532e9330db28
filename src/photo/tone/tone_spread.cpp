#include "photo/tone/tone_spread.hpp"

#include <cmath>

#include "photo/tone/tone_shift.hpp"

namespace rondure {

double tone_spread_px(const ToneCurve& assumed, double dark_light, double bright_light, double blur_px) {
  // Gamma 1.8 and 2.6 against sRGB's 2.2, and an S-curve: the range seen in cameras (common practice, no
  // source).
  const ToneCurve others[] = {{false, assumed.gamma_shift - 0.18, assumed.s_bend},
                              {false, assumed.gamma_shift + 0.18, assumed.s_bend},
                              {false, assumed.gamma_shift, assumed.s_bend + 0.3}};
  double square = 0;
  for (const ToneCurve& other : others)
    square +=
        std::pow(tone_shift(assumed, other, {dark_light, bright_light, blur_px}).toward_bright_px, 2) / 3;
  return std::sqrt(square);
}

}  // namespace rondure
