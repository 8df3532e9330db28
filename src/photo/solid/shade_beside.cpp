#include "photo/solid/shade_beside.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

// Table of the shade, over the reach: a sixteenth of the part's height a step; azimuths that meet the wall, by the
// midpoint rule.
constexpr int kSteps = 96, kAzimuths = 48;
// Beyond, less than 1 % of the loss at the foot is left (computed, for parts 0.06 to 1.5 times as high as wide).
constexpr double kReach_heights = 6;

// Light lost at `d` from the wall, as an integral over the azimuths that meet it.
double lost(double radius, double height, double d, int power) {
  const double from_axis = radius + d, widest = std::asin(std::min(1.0, radius / from_axis));
  double sum = 0;
  for (int k = 0; k < kAzimuths; ++k) {
    const double a = widest * (k + 0.5) / kAzimuths, s = from_axis * std::sin(a);
    const double away = from_axis * std::cos(a) - std::sqrt(std::max(0.0, radius * radius - s * s));
    const double of_azimuth = height * height / (height * height + away * away);
    double all = of_azimuth;
    for (int m = 1; m < power; ++m) all *= of_azimuth;
    sum += all;
  }
  return sum * widest / kAzimuths / kPi;
}

}  // namespace

ShadeBeside::ShadeBeside(double radius_mm, double height_mm, int power)
    : step_mm_(kReach_heights * height_mm / kSteps) {
  for (int k = 0; k <= kSteps; ++k) table_.push_back(lost(radius_mm, height_mm, k * step_mm_, power));
  const double at_foot = table_.front();
  for (double& v : table_) v /= at_foot;
}

double ShadeBeside::slope_at(double from_foot_mm) const {
  const int k = std::clamp(static_cast<int>(std::floor(from_foot_mm / step_mm_)), 0, kSteps);
  return k == kSteps ? 0 : (table_[k + 1] - table_[k]) / step_mm_;
}

double ShadeBeside::at(double from_foot_mm) const {
  const int k = std::clamp(static_cast<int>(std::floor(from_foot_mm / step_mm_)), 0, kSteps);
  return k == kSteps ? table_.back() : table_[k] + (from_foot_mm - k * step_mm_) * slope_at(from_foot_mm);
}

}  // namespace rondure
