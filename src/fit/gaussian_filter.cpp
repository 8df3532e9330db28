#include "rondure/fit/gaussian_filter.hpp"

#include <cmath>
#include <numbers>

#include "rondure/core/geometry.hpp"

namespace rondure {

double gaussian_transmission(double upr, double cutoff_upr) {
  return std::exp(-std::numbers::ln2 * upr * upr / (cutoff_upr * cutoff_upr));
}

bool carries_cutoff(std::span<const double> angle_rad, double cutoff_upr) {
  const std::size_t n = angle_rad.size();
  if (static_cast<double>(n) < kPointsPerUndulation * cutoff_upr) return false;
  for (std::size_t i = 0; i < n; ++i) {
    const double next = i + 1 < n ? angle_rad[i + 1] : angle_rad[0] + 2 * kPi;
    if (next - angle_rad[i] > kPi / cutoff_upr) return false;
  }
  return true;
}

std::vector<double> gaussian_filtered(std::span<const double> angle_rad, std::span<const double> deviation_mm,
                                      double cutoff_upr) {
  const auto n = static_cast<std::ptrdiff_t>(angle_rad.size());
  const auto at = [n](std::ptrdiff_t i) { return static_cast<std::size_t>(((i % n) + n) % n); };
  const auto angle = [&](std::ptrdiff_t i) {  // unwrapped
    const std::ptrdiff_t turn = (i >= 0 ? i / n : -((n - 1 - i) / n));
    return angle_rad[at(i)] + 2 * kPi * static_cast<double>(turn);
  };
  const double width = std::sqrt(std::numbers::ln2 / kPi) * 2 * kPi / cutoff_upr;  // alpha L
  const double reach = 1.5 * width;  // weight exp(-7): below 0.1 %
  std::vector<double> out(angle_rad.size());
  for (std::ptrdiff_t i = 0; i < n; ++i) {
    double sum = 0, total = 0;
    const auto add = [&](std::ptrdiff_t j) {
      const double x = (angle(j) - angle(i)) / width;
      const double share = 0.5 * (angle(j + 1) - angle(j - 1)) * std::exp(-kPi * x * x);
      sum += share * deviation_mm[at(j)], total += share;
    };
    add(i);
    for (std::ptrdiff_t j = i + 1; angle(j) - angle(i) < reach && j < i + n; ++j) add(j);
    for (std::ptrdiff_t j = i - 1; angle(i) - angle(j) < reach && j > i - n; --j) add(j);
    out[static_cast<std::size_t>(i)] = total > 0 ? sum / total : deviation_mm[static_cast<std::size_t>(i)];
  }
  return out;
}

}  // namespace rondure
