#include "tone_spread.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

// Displacement (towards the bright side) and blur of an erf edge fitted to a profile whose ends are its
// levels.
double fitted_displacement(const std::vector<double>& t, const std::vector<double>& share, double blur_px) {
  double d = 0, blur = blur_px;
  for (int round = 0; round < 12; ++round) {
    double dd = 0, db = 0, bb = 0, rd = 0, rb = 0;
    for (std::size_t i = 0; i < t.size(); ++i) {
      const double z = (t[i] - d) / blur, slope = std::exp(-0.5 * z * z) / std::sqrt(2 * kPi) / blur;
      const double r = share[i] - 0.5 * std::erfc(-z / std::sqrt(2.0)), gd = -slope, gb = -slope * z;
      dd += gd * gd, db += gd * gb, bb += gb * gb, rd += r * gd, rb += r * gb;
    }
    const double det = dd * bb - db * db;
    if (!(det > 1e-12)) break;
    d += std::clamp((bb * rd - db * rb) / det, -blur, blur);
    blur = std::clamp(blur + std::clamp((dd * rb - db * rd) / det, -0.3 * blur, 0.3 * blur), 0.3 * blur_px,
                      3 * blur_px);
  }
  return d;
}

}  // namespace

double tone_spread_px(const ToneCurve& assumed, double dark_light, double bright_light, double blur_px) {
  if (!(bright_light > dark_light) || !(blur_px > 0)) return 0;
  const double dark = std::clamp(dark_light, 0.0, 1.0), bright = std::clamp(bright_light, 0.0, 1.0);
  std::vector<double> t, sample;
  for (double x = -4 * blur_px; x <= 4 * blur_px; x += 0.25 * blur_px) {
    t.push_back(x);
    sample.push_back(assumed.sample(dark + (bright - dark) * 0.5 * std::erfc(-x / blur_px / std::sqrt(2.0))));
  }
  double square = 0;
  // Gamma 1.8 and 2.6 against sRGB's 2.2, and an S-curve: the range seen in cameras (common practice, no
  // source).
  const ToneCurve others[] = {{false, assumed.gamma_shift - 0.18, assumed.s_bend},
                              {false, assumed.gamma_shift + 0.18, assumed.s_bend},
                              {false, assumed.gamma_shift, assumed.s_bend + 0.3}};
  for (const ToneCurve& other : others) {
    const double lo = other.light(assumed.sample(dark)), hi = other.light(assumed.sample(bright));
    if (!(hi > lo)) continue;
    std::vector<double> share;
    for (const double v : sample) share.push_back((other.light(v) - lo) / (hi - lo));
    const double d = fitted_displacement(t, share, blur_px);
    square += d * d / 3;
  }
  return std::sqrt(square);
}

}  // namespace rondure
