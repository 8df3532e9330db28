// Sums of a law of the measured size over all members of a grid, in closed form where that is shorter.
#pragma once
#include <utility>
#include <vector>

#include "rondure/interpret/size_grids.hpp"

namespace rondure {

inline constexpr double kNegligible_nats = 27;  // of a term below the largest: 2e-12 of it

// ln of the density at t of an exponential amount (mean 1/rate) plus normal(0, sd).
double log_exponential_plus_normal(double t, double rate, double sd);

// ln of sum over n of exp(-precision (n step - centre)^2 / 2), as a pair (shift, sum): ln = shift + ln sum.
std::pair<double, double> normal_over_grid(double step_mm, double centre_mm, double precision);
// ln of the sum over the grids of weight * step * that.
double log_normal_over_grids(const std::vector<SizeGrid>& grids, double centre_mm, double precision);

// Sum over n of the density at t0 + n step of an exponential amount (mean 1/rate) plus normal(0, sd).
double wear_over_grid(double t0, double step, double rate, double sd);

}  // namespace rondure
