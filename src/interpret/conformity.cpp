#include "rondure/interpret/conformity.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/normal_law.hpp"
#include "rondure/fit/distributions.hpp"

namespace rondure {
namespace {

// Standard uncertainty towards smaller and towards larger values.
struct Sides {
  double below_mm, above_mm;
};

Sides sides(double value_mm, double u_mm, std::optional<Interval> interval95) {
  if (!interval95) return {u_mm, u_mm};
  return {std::max(u_mm, (value_mm - interval95->lo) / kNormal95),
          std::max(u_mm, (interval95->hi - value_mm) / kNormal95)};
}

double chance_above(double value_mm, double limit_mm, const Sides& u) {
  const double distance = value_mm - limit_mm;
  const double u_mm = distance > 0 ? u.below_mm : u.above_mm;
  if (u_mm <= 0) return distance >= 0 ? 1 : 0;
  return normal_cdf(distance / u_mm);
}

}  // namespace

Decision decide(double value_mm, std::optional<double> u_mm, std::optional<Interval> interval95,
                const SizeLimits& limits) {
  Decision decision;
  if (!u_mm || (!limits.lower_mm && !limits.upper_mm)) return decision;
  const Sides u = sides(value_mm, *u_mm, interval95);
  const double guard_below = kGuardFactor * u.below_mm, guard_above = kGuardFactor * u.above_mm;
  decision.guard_mm = std::max(guard_below, guard_above);
  const double above_lower = limits.lower_mm ? chance_above(value_mm, *limits.lower_mm, u) : 1;
  const double above_upper = limits.upper_mm ? chance_above(value_mm, *limits.upper_mm, u) : 0;
  decision.probability_within = std::clamp(above_lower - above_upper, 0.0, 1.0);
  const bool clear_of_lower = !limits.lower_mm || value_mm - guard_below >= *limits.lower_mm;
  const bool clear_of_upper = !limits.upper_mm || value_mm + guard_above <= *limits.upper_mm;
  const bool under_lower = limits.lower_mm && value_mm + guard_above < *limits.lower_mm;
  const bool over_upper = limits.upper_mm && value_mm - guard_below > *limits.upper_mm;
  if (under_lower || over_upper)
    decision.verdict = Conformity::kOutside;
  else if (clear_of_lower && clear_of_upper && *decision.probability_within >= kConformanceProbability)
    decision.verdict = Conformity::kWithin;
  return decision;
}

}  // namespace rondure
