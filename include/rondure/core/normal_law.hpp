// The normal law of mean 0 and standard deviation 1.
#pragma once
#include <cmath>
#include <numbers>

namespace rondure {

inline constexpr double kNormal95 = 1.959963984540054;  // 97.5 % point of the standard normal law

inline double normal_density(double z) {
  return std::exp(-0.5 * z * z) * std::numbers::inv_sqrtpi / std::numbers::sqrt2;
}
// To the last digit also far out on the lower side.
inline double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

}  // namespace rondure
