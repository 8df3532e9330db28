#include "wear_law.hpp"

#include <algorithm>
#include <cmath>

#include "grid_sums.hpp"
#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

constexpr double kReach_sd = 10, kNodes_sd = 1. / 24;  // e^-50 beyond; within 1e-9 (wear_law.hpp)

}  // namespace

WearLaw::WearLaw(double mean_mm, double sd_mm)
    : sd_mm_(sd_mm),
      rate_(1 / mean_mm),
      step_mm_(kNodes_sd * sd_mm),
      log_tail_(std::log(rate_) + 0.5 * rate_ * rate_ * sd_mm * sd_mm) {
  const auto nodes = static_cast<int>(std::lround(2 * kReach_sd / kNodes_sd)) + 1;
  for (int i = 0; i < nodes; ++i) {
    const double t = -kReach_sd * sd_mm + i * step_mm_, z = t / sd_mm;
    value_.push_back(log_exponential_plus_normal(t, rate_, sd_mm));
    // The derivative of the density is rate * (normal density - itself).
    const double log_normal = -0.5 * z * z - std::log(sd_mm * std::sqrt(2 * kPi));
    slope_.push_back(step_mm_ * rate_ * std::expm1(log_normal - value_.back()));
  }
}

double WearLaw::log_density(double t) const {
  return t < -kReach_sd * sd_mm_ ? log_exponential_plus_normal(t, rate_, sd_mm_) : log_density_at_most(t);
}

double WearLaw::log_density_at_most(double t) const {
  if (t > kReach_sd * sd_mm_) return log_tail_ - rate_ * t;
  if (t < -kReach_sd * sd_mm_) return value_.front();
  const double at = t / step_mm_ + kReach_sd / kNodes_sd;
  const auto i = std::min(static_cast<std::size_t>(at), value_.size() - 2);
  const double x = at - static_cast<double>(i), d = value_[i + 1] - value_[i];
  return value_[i] + x * (slope_[i] + x * (3 * d - 2 * slope_[i] - slope_[i + 1] +
                                           x * (slope_[i] + slope_[i + 1] - 2 * d)));
}

}  // namespace rondure
