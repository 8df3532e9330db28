#include "photo/tone/tone_shift.hpp"

#include <algorithm>
#include <cmath>

#include "photo/edge/normal_table.hpp"

namespace rondure {
namespace {

constexpr double kStepInBlurs = 0.25;  // between samples: four a blur

// Place and blur of a step from 0 to 1 in the profile.
template <std::size_t count>
ToneShift fit_step(const std::array<double, count>& share, double blur_px, const ToneShift& start) {
  constexpr int kHalf = count / 2;
  const NormalTable& normal = normal_table();
  double d = start.toward_bright_px, blur = start.blur_px;
  for (int round = 0; round < 12; ++round) {
    double dd = 0, db = 0, bb = 0, rd = 0, rb = 0;
    for (int i = -kHalf; i <= kHalf; ++i) {
      const double t = i * kStepInBlurs * blur_px, z = (t - d) / blur;
      const double slope = normal.bell(z) / blur;
      const double r = share[static_cast<std::size_t>(i + kHalf)] - normal.share(z), gd = -slope,
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

ReadAnew::ReadAnew(const ToneCurve& from, const EdgeLook& look) : blur_px_(look.blur_px) {
  const double dark = std::clamp(look.dark_light, 0.0, 1.0), bright = std::clamp(look.bright_light, 0.0, 1.0);
  has_contrast_ = bright > dark && look.blur_px > 0;
  if (!has_contrast_) return;
  const NormalTable& normal = normal_table();
  for (int i = -kHalf; i <= kHalf; ++i)
    stored_[static_cast<std::size_t>(i + kHalf)] =
        from.sample(dark + (bright - dark) * normal.share(i * kStepInBlurs));
  ends_ = {from.sample(dark), from.sample(bright)};
}

ToneShift ReadAnew::with(const ToneCurve& to, const ToneShift* near) const {
  if (!has_contrast_) return {0, blur_px_};
  const double lo = to.light(ends_[0]), hi = to.light(ends_[1]);
  if (!(hi > lo)) return {0, blur_px_};
  std::array<double, 2 * kHalf + 1> share{};
  for (std::size_t i = 0; i < share.size(); ++i) share[i] = (to.light(stored_[i]) - lo) / (hi - lo);
  return fit_step(share, blur_px_, near ? *near : ToneShift{0, blur_px_});
}

ToneShift tone_shift(const ToneCurve& from, const ToneCurve& to, const EdgeLook& look) {
  return ReadAnew(from, look).with(to);
}

}  // namespace rondure
