#include "compare_shape.hpp"

#include <algorithm>
#include <cmath>
#include <complex>

#include "rondure/fit/distributions.hpp"

namespace rondure {
namespace {

constexpr double kPlane95 = 2.448;  // sqrt of the 95 % point of chi^2 with two degrees of freedom

using Vector = std::complex<double>;

Vector vector_of(const HarmonicResult& h, double turn_rad = 0) {
  return std::polar(h.amplitude_mm, h.upr * (rad(h.phase_deg) - turn_rad));
}

struct Order {
  const HarmonicResult *a, *b;
  std::optional<double> u_mm;
};

std::vector<Order> common_orders(std::span<const HarmonicResult> a, std::span<const HarmonicResult> b) {
  std::vector<Order> orders;
  for (const HarmonicResult& ha : a)
    if (const auto hb = std::ranges::find(b, ha.upr, &HarmonicResult::upr); hb != b.end()) {
      std::optional<double> u;
      if (ha.u_amplitude_mm && hb->u_amplitude_mm) u = std::hypot(*ha.u_amplitude_mm, *hb->u_amplitude_mm);
      orders.push_back({&ha, &*hb, u});
    }
  return orders;
}

std::vector<Order> orders_of(std::span<const OutlinePair> pairs) {
  std::vector<Order> all;
  for (const OutlinePair& pair : pairs) {
    const auto orders = common_orders(pair.a, pair.b);
    all.insert(all.end(), orders.begin(), orders.end());
  }
  return all;
}

// Sum of squared differences over their variances; orders without uncertainty weigh alike among themselves.
double mismatch(std::span<const Order> orders, double turn_rad) {
  double sum = 0;
  for (const Order& o : orders) {
    const double u = o.u_mm.value_or(0) > 0 ? *o.u_mm : 1e-3;
    sum += std::norm(vector_of(*o.b, turn_rad) - vector_of(*o.a)) / (u * u);
  }
  return sum;
}

double best_turn(std::span<const Order> orders) {
  constexpr int kSteps = 1440;  // quarters of a degree: 48 on a wave of order 30; then halved down to 1e-9
  double best = 0, least = mismatch(orders, 0);
  for (int i = 1; i < kSteps; ++i)
    if (const double m = mismatch(orders, 2 * kPi * i / kSteps); m < least)
      least = m, best = 2 * kPi * i / kSteps;
  for (double step = 2 * kPi / kSteps; step > 1e-9; step /= 2)
    for (const double trial : {best - step, best + step})
      if (const double m = mismatch(orders, trial); m < least) least = m, best = trial;
  return wrap_direction_rad(best);
}

}  // namespace

std::vector<HarmonicChange> compare_harmonics(std::span<const HarmonicResult> a,
                                              std::span<const HarmonicResult> b, double turn_rad) {
  std::vector<HarmonicChange> changes;
  for (const Order& o : common_orders(a, b)) {
    const Vector difference = vector_of(*o.b, turn_rad) - vector_of(*o.a);
    HarmonicChange change;
    change.upr = o.a->upr;
    change.before_mm = o.a->amplitude_mm;
    change.after_mm = o.b->amplitude_mm;
    change.amplitude_mm = std::abs(difference);
    change.phase_deg = deg(wrap_direction_rad(std::arg(difference))) / change.upr;
    change.u_mm = o.u_mm;
    change.shown = o.u_mm && change.amplitude_mm > kPlane95 * *o.u_mm;
    changes.push_back(change);
  }
  return changes;
}

double find_turn(std::span<const OutlinePair> pairs) {
  const auto orders = orders_of(pairs);
  return orders.empty() ? 0 : best_turn(orders);
}

bool looks_turned(std::span<const OutlinePair> pairs) {
  auto orders = orders_of(pairs);
  std::erase_if(orders, [](const Order& o) { return o.u_mm.value_or(0) <= 0; });
  if (orders.empty()) return false;
  const int freedom = 2 * static_cast<int>(orders.size());
  return chi2_upper_p(mismatch(orders, 0), freedom) < 0.05 &&
         chi2_upper_p(mismatch(orders, best_turn(orders)), freedom - 1) > 0.05;
}

}  // namespace rondure
