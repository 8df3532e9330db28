#include "photo/tone/tone_shift.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "rondure/core/geometry.hpp"
#include "rondure/core/normal_law.hpp"

namespace rondure {
namespace {

constexpr int kHalf = 20;              // samples either side
constexpr double kStepInBlurs = 0.25;  // between samples
using Profile = std::array<double, 2 * kHalf + 1>;

// Place and blur of a step from 0 to 1 in the profile.
ToneShift fit_step(const Profile& share, double blur_px) {
  double d = 0, blur = blur_px;
  for (int round = 0; round < 12; ++round) {
    double dd = 0, db = 0, bb = 0, rd = 0, rb = 0;
    for (int i = -kHalf; i <= kHalf; ++i) {
      const double t = i * kStepInBlurs * blur_px, z = (t - d) / blur;
      const double slope = std::exp(-0.5 * z * z) / std::sqrt(2 * kPi) / blur;
      const double r = share[static_cast<std::size_t>(i + kHalf)] - normal_cdf(z), gd = -slope,
                   gb = -slope * z;
      dd += gd * gd, db += gd * gb, bb += gb * gb, rd += r * gd, rb += r * gb;
    }
    const double det = dd * bb - db * db;
    if (!(det > 1e-12)) break;
    const double step_d = std::clamp((bb * rd - db * rb) / det, -blur, blur);
    const double step_b = std::clamp((dd * rb - db * rd) / det, -0.3 * blur, 0.3 * blur);
    d += step_d;
    blur = std::clamp(blur + step_b, 0.3 * blur_px, 3 * blur_px);
    if (std::abs(step_d) + std::abs(step_b) < 1e-9 * blur_px) break;
  }
  return {d, blur};
}

}  // namespace

ToneShift tone_shift(const ToneCurve& from, const ToneCurve& to, const EdgeLook& look) {
  const double dark = std::clamp(look.dark_light, 0.0, 1.0), bright = std::clamp(look.bright_light, 0.0, 1.0);
  if (!(bright > dark) || !(look.blur_px > 0)) return {0, look.blur_px};
  const double lo = to.light(from.sample(dark)), hi = to.light(from.sample(bright));
  if (!(hi > lo)) return {0, look.blur_px};
  Profile share{};
  for (int i = -kHalf; i <= kHalf; ++i) {
    const double light = dark + (bright - dark) * normal_cdf(i * kStepInBlurs);
    share[static_cast<std::size_t>(i + kHalf)] = (to.light(from.sample(light)) - lo) / (hi - lo);
  }
  return fit_step(share, look.blur_px);
}

}  // namespace rondure
