// Gauss-Legendre quadrature on [-1, 1], nodes by Newton's iteration on the Legendre recurrence.
#pragma once
#include <array>
#include <cmath>

#include "rondure/core/geometry.hpp"

namespace rondure {

template <int N>
struct GaussLegendre {
  std::array<double, N> node{}, weight{};
  GaussLegendre() {
    for (int i = 0; i < N; ++i) {
      double x = std::cos(kPi * (i + 0.75) / (N + 0.5)), slope = 1;
      for (int pass = 0; pass < 60; ++pass) {
        double p = 1, before = 0;
        for (int k = 1; k <= N; ++k) {
          const double next = ((2 * k - 1) * x * p - (k - 1) * before) / k;
          before = p;
          p = next;
        }
        slope = N * (x * p - before) / (x * x - 1);
        const double step = p / slope;
        x -= step;
        if (std::abs(step) < 1e-16) break;
      }
      node[static_cast<std::size_t>(i)] = x;
      weight[static_cast<std::size_t>(i)] = 2 / ((1 - x * x) * slope * slope);
    }
  }
};

}  // namespace rondure
