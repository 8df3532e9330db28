// The law of a worn size, tabulated: sums over many drawn sizes and shrinkages ask for it a million times.
#pragma once
#include <vector>

namespace rondure {

// ln of the density at t of an exponential amount (mean `mean_mm`) plus normal(0, sd): cubic between nodes kNodes_sd apart within
// kReach_sd, off by less than 1e-9; beyond, its tails.
class WearLaw {
public:
  WearLaw(double mean_mm, double sd_mm);
  double log_density(double t_mm) const;
  // The same where that is within kReach_sd or above, a bound below.
  double log_density_at_most(double t_mm) const;

private:
  double sd_mm_, rate_, step_mm_, log_tail_;
  std::vector<double> value_, slope_;  // slope times the step
};

}  // namespace rondure
