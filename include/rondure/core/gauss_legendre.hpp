// Legendre polynomials, and Gauss-Legendre quadrature on [-1, 1] with its nodes by Newton's iteration. Ours, since
// std::legendre() throws a rounding error outside [-1, 1].
#pragma once
#include <array>
#include <cmath>

#include "rondure/core/geometry.hpp"

namespace rondure {

// P_order(x) by Bonnet's recurrence, and the one of the order below (0 below order 0).
struct LegendreValue {
  double value = 1, below = 0;
};
inline LegendreValue legendre(int order, double x) {
  LegendreValue p;
  for (int k = 1; k <= order; ++k) p = {((2 * k - 1) * x * p.value - (k - 1) * p.below) / k, p.value};
  return p;
}

template <int N>
struct GaussLegendre {
  std::array<double, N> node{}, weight{};
  GaussLegendre() {
    for (int i = 0; i < N; ++i) {
      double x = std::cos(kPi * (i + 0.75) / (N + 0.5)), slope = 1;
      for (int pass = 0; pass < 60; ++pass) {
        const LegendreValue p = legendre(N, x);
        slope = N * (x * p.value - p.below) / (x * x - 1);
        const double step = p.value / slope;
        x -= step;
        if (std::abs(step) < 1e-16) break;
      }
      node[static_cast<std::size_t>(i)] = x;
      weight[static_cast<std::size_t>(i)] = 2 / ((1 - x * x) * slope * slope);
    }
  }
};

}  // namespace rondure
