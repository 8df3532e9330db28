#include "rondure/interpret/ring_on_shaft.hpp"

#include <cmath>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {
double denominator(double k, double nu) { return (1 + nu) + (1 - nu) * k * k; }
}  // namespace

double held_ring_outer_share(double k, double nu) { return (1 + nu) * (1 - k * k) / denominator(k, nu); }

double stuck_ring_outer_share(double k, double nu) {
  return (1 + nu) * (1 - k * k) / (1 + (1 - 2 * nu) * k * k);
}

double held_ring_pressure_share(double k, double nu) { return (1 - k * k) / denominator(k, nu); }
double held_ring_hoop_share(double k, double nu) { return (1 + k * k) / denominator(k, nu); }

double outer_shrinkage_with_clearance(double s, double clearance, double k, double nu) {
  if (s <= clearance) return s;
  return s - (s - clearance) * 2 * k * k / denominator(k, nu);
}

double shrinkage_from_crack_gap(double gap_mm, double shaft_diameter_mm) {
  return gap_mm / (kPi * shaft_diameter_mm);
}

}  // namespace rondure
