#include "rondure/photo/tone_curve.hpp"

#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

constexpr double kLinearSlope = 12.92, kLinearEnd = 0.04045;  // IEC 61966-2-1

double srgb_light(double y) {
  return y <= kLinearEnd ? y / kLinearSlope : std::pow((y + 0.055) / 1.055, 2.4);
}
double srgb_sample(double light) {
  return light <= kLinearEnd / kLinearSlope ? light * kLinearSlope : 1.055 * std::pow(light, 1 / 2.4) - 0.055;
}

}  // namespace

double ToneCurve::light(double y) const {
  if (linear) return y;
  if (y >= 1) return 1 + (y - 1) * 2.4 / 1.055 * (1 + gamma_shift) * (1 + s_bend) * (1 + shoulder);
  if (y <= 0) return y / kLinearSlope * (gamma_shift == 0 ? 1 + s_bend : 1) / (1 + shoulder);
  const double bent = y + s_bend * y * (1 - y) * (1 - 2 * y);
  const double plain = srgb_light(bent);
  const double x = gamma_shift == 0 ? plain : std::pow(plain, 1 + gamma_shift);
  return shoulder == 0 ? x : x / (1 + shoulder * (1 - x));
}

double ToneCurve::sample(double light_ratio) const {
  if (linear) return light_ratio;
  if (light_ratio >= 1)
    return 1 + (light_ratio - 1) / (2.4 / 1.055 * (1 + gamma_shift) * (1 + s_bend) * (1 + shoulder));
  if (light_ratio <= 0)
    return light_ratio * kLinearSlope / (gamma_shift == 0 ? 1 + s_bend : 1) * (1 + shoulder);
  const double x = shoulder == 0 ? light_ratio : light_ratio * (1 + shoulder) / (1 + shoulder * light_ratio);
  const double bent = srgb_sample(gamma_shift == 0 ? x : std::pow(x, 1 / (1 + gamma_shift)));
  if (s_bend == 0) return bent;
  double lo = 0, hi = 1,
         y = bent;  // y + a y (1 - y) (1 - 2 y) = bent, monotone: Newton kept inside a bracket
  for (int i = 0; i < 60; ++i) {
    const double excess = y + s_bend * y * (1 - y) * (1 - 2 * y) - bent;
    if (std::abs(excess) < 1e-15) break;
    (excess > 0 ? hi : lo) = y;
    const double slope = 1 + s_bend * (1 - 6 * y + 6 * y * y);
    const double next = y - excess / slope;
    y = next > lo && next < hi ? next : (lo + hi) / 2;
  }
  return y;
}

std::vector<float> ToneCurve::light_table(int bits) const {
  const std::size_t count = std::size_t{1} << bits;
  std::vector<float> table(count);
  for (std::size_t i = 0; i < count; ++i)
    table[i] = static_cast<float>(light(static_cast<double>(i) / static_cast<double>(count - 1)));
  return table;
}

}  // namespace rondure
