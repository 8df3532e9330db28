// Is a size within its limits? The decision rule of ISO 14253-1 (figures of the rule from memory): the
// measured value must keep clear of a limit by the guard band g = 1.65 u to prove conformity, and lie beyond
// it by g to prove the contrary; in between neither is proven. 1.65 is the one-sided 95 % point of the normal
// law.
//
// Where the zone between the limits is so narrow that both limits matter, 95 % is asked of both together:
// "within" also needs a probability of at least 0.95 between the limits.
#pragma once
#include <optional>

#include "rondure/core/geometry.hpp"

namespace rondure {

inline constexpr double kGuardFactor = 1.65;
inline constexpr double kConformanceProbability = 0.95;

// mm; at least one of the two, lower <= upper.
struct SizeLimits {
  std::optional<double> lower_mm, upper_mm;
};

enum class Conformity { kWithin, kOutside, kCannotTell };

struct Decision {
  Conformity verdict = Conformity::kCannotTell;
  std::optional<double> guard_mm;  // the larger of the two sides; absent when the uncertainty is not known
  std::optional<double> probability_within;  // that the part's value lies between the limits
};

// `u_mm`: standard uncertainty of the value; absent = not known, and then nothing is proven. `interval95`: of
// a value whose law is skew (a diameter from a short arc); each side then has its own u = half the interval's
// side / 0.98.
Decision decide(double value_mm, std::optional<double> u_mm, std::optional<Interval> interval95,
                const SizeLimits& limits);

}  // namespace rondure
