// The normal law from a table, for loops over all pixels of an edge: cubic Hermite between nodes 1/64 apart,
// within 3e-10 of core/normal_law.hpp for |z| <= 6, where a light is known to 1e-5 at best.
#pragma once
#include <array>
#include <cstddef>

#include "rondure/core/normal_law.hpp"

namespace rondure {

class NormalTable {
public:
  static constexpr double kReach = 6;  // standard deviations: 1e-9 lies beyond

  NormalTable() {
    for (std::size_t i = 0; i < kNodes; ++i) {
      const double z = static_cast<double>(i) / kPerUnit - kReach, density = normal_density(z);
      cdf_[i] = {normal_cdf(z), density / kPerUnit};
      density_[i] = {density, -z * density / kPerUnit};
    }
  }

  // Any z.
  double share(double z) const { return z > kReach ? 1 : z < -kReach ? 0 : cdf(z); }
  double bell(double z) const { return z > kReach || z < -kReach ? 0 : density(z); }

  // |z| <= kReach.
  double cdf(double z) const { return between(cdf_, z); }
  double density(double z) const { return between(density_, z); }

private:
  static constexpr double kPerUnit = 64;  // nodes a standard deviation: within 3e-10 (test_normal_table.cpp)
  static constexpr std::size_t kNodes = static_cast<std::size_t>(2 * kReach * kPerUnit) + 2;
  struct Node {
    double value = 0, rise = 0;  // rise: derivative times the distance of nodes
  };
  using Nodes = std::array<Node, kNodes>;

  static double between(const Nodes& nodes, double z) {
    const double at = (z + kReach) * kPerUnit;
    const auto i = static_cast<std::size_t>(at);
    const double x = at - static_cast<double>(i), step = nodes[i + 1].value - nodes[i].value;
    const double a = nodes[i].rise - step, b = step - nodes[i + 1].rise;
    return nodes[i].value + x * (step + (1 - x) * (a * (1 - x) + b * x));
  }

  Nodes cdf_, density_;
};

inline const NormalTable& normal_table() {
  static const NormalTable table;
  return table;
}

}  // namespace rondure
