// Least squares that a few wild values do not draw: weights of a Student-like law, its scale from the median.
#pragma once
#include <Eigen/Dense>
#include <cmath>
#include <vector>

#include "rondure/core/median.hpp"

namespace rondure {

// The numbers p of value_i = row_i . p + miss_i. Scales in the values' unit: the first round's, and the least, below which all
// misses are alike. Numbers that the rows do not tell stay near 0.
template <int terms>
Eigen::Matrix<double, terms, 1> student_fit(const std::vector<Eigen::Matrix<double, terms, 1>>& rows,
                                            const std::vector<double>& values, double first_scale,
                                            double least_scale) {
  using Row = Eigen::Matrix<double, terms, 1>;
  constexpr int kRounds = 8;
  constexpr double kHair = 1e-3;  // of one value's weight
  Row p = Row::Zero();
  double scale = first_scale;
  std::vector<double> misses(values.size());
  for (int round = 0; round < kRounds; ++round) {
    Eigen::Matrix<double, terms, terms> n = Eigen::Matrix<double, terms, terms>::Identity() * kHair;
    Row r = Row::Zero();
    for (std::size_t i = 0; i < values.size(); ++i) {
      const Row& b = rows[i];
      const double miss = values[i] - b.dot(p), u = miss / scale, w = 1 / ((1 + u * u) * (1 + u * u));
      n += w * b * b.transpose();
      r += w * miss * b;
      misses[i] = std::abs(miss);
    }
    p += n.ldlt().solve(r);
    scale = std::max(least_scale, 2 * median(misses));
  }
  return p;
}

}  // namespace rondure
