#include "grid_sums.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/geometry.hpp"

namespace rondure {

double log_exponential_plus_normal(double t, double rate, double sd) {
  const double z = t / sd, y = (rate * sd - z) / std::sqrt(2.0);
  if (y < -6) return std::log(rate) + rate * (0.5 * rate * sd * sd - t);  // erfc is 2 to 2e-17
  const double log_erfc = y < 25 ? y * y + std::log(std::erfc(y)) : -std::log(y * std::sqrt(kPi));
  return std::log(rate / 2) - 0.5 * z * z + log_erfc;
}

// ln of sum over n of exp(-precision (n step - centre)^2 / 2), as a pair (shift, sum): ln = shift + ln sum.
// Either the sum itself, or where the normal law is wide against the step its Poisson dual (both to better
// than 1e-16):
//   sum = sqrt(2 pi) w (1 + 2 sum over k of exp(-2 pi^2 k^2 w^2) cos(2 pi k centre/step)),  w = 1/(step
//   sqrt(precision))
std::pair<double, double> normal_over_grid(double step, double centre, double precision) {
  const double w = 1 / (step * std::sqrt(precision));
  if (w > 0.6) {
    double sum = 1;
    for (int k = 1; k <= 2; ++k) {
      const double damping = 2 * kPi * kPi * k * k * w * w;
      if (damping > 45) break;
      sum += 2 * std::exp(-damping) * std::cos(2 * kPi * k * centre / step);
    }
    return {0, std::sqrt(2 * kPi) * w * sum};
  }
  const double nearest = std::round(centre / step) * step - centre,
               least = 0.5 * precision * nearest * nearest;
  double sum = 1;
  for (int n = 1; n <= 6; ++n) {
    // Both neighbours n steps away; the nearer one decides whether they still matter.
    const double below = nearest - n * step, above = nearest + n * step;
    const double x_below = least - 0.5 * precision * below * below,
                 x_above = least - 0.5 * precision * above * above;
    if (std::max(x_below, x_above) < -kNegligible_nats) break;
    sum += std::exp(x_below) + std::exp(x_above);
  }
  return {-least, sum};
}

double log_normal_over_grids(const std::vector<SizeGrid>& grids, double centre, double precision) {
  double shift = -INFINITY, sum = 0;
  for (const SizeGrid& g : grids) {
    if (g.weight <= 0) continue;
    const auto [own_shift, own_sum] = normal_over_grid(g.step_mm, centre, precision);
    const double term = g.weight * g.step_mm * own_sum;
    if (own_shift > shift) {
      sum = sum * std::exp(shift - own_shift) + term;
      shift = own_shift;
    } else {
      sum += term * std::exp(own_shift - shift);
    }
  }
  return shift + std::log(sum);
}

// Sum over n of the density at t0 + n step of an exponential amount (mean 1/rate) plus normal(0, sd). Where
// the normal part is wide against the step, its Poisson dual with the transform
// exp(-w^2 sd^2 / 2) rate/(rate + i w); else the terms up to where only the exponential is left, and the rest
// as a geometric series.
double wear_over_grid(double t0, double step, double rate, double sd) {
  if (sd > 0.6 * step) {
    double sum = 1;
    for (int k = 1; k <= 2; ++k) {
      const double omega = 2 * kPi * k / step, damping = 0.5 * omega * omega * sd * sd;
      if (damping > 45) break;
      const double angle = omega * t0;
      sum += 2 * std::exp(-damping) * rate * (rate * std::cos(angle) + omega * std::sin(angle)) /
             (rate * rate + omega * omega);
    }
    return sum / step;
  }
  constexpr double kBelow_sd = 12;  // terms begin so far below: e^-72 of the highest, less than its rounding
  double t = t0 + step * std::ceil((-kBelow_sd * sd - t0) / step), sum = 0;
  const double only_exponential = (6 * std::sqrt(2.0) + rate * sd) * sd;
  for (; t < only_exponential; t += step) {
    const double term = std::exp(log_exponential_plus_normal(t, rate, sd));
    sum += term;
    if (t > 0 && term < 1e-14 * sum) return sum;
  }
  return sum + std::exp(log_exponential_plus_normal(t, rate, sd)) / -std::expm1(-rate * step);
}

}  // namespace rondure
