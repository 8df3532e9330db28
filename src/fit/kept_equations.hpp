// Least squares of some of the points of a profile, the rest left out, followed from one choice to the next.
#pragma once
#include <Eigen/Core>
#include <cmath>
#include <limits>
#include <vector>

#include "trimmed_outline.hpp"

namespace rondure {

constexpr int kMostColumns = 17;  // a constant and the orders 1 to 8, two columns each
using Normal = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, kMostColumns, kMostColumns>;
using Side = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, kMostColumns, 1>;

// By Cholesky's L L' in plain loops: the compiler unrolls them where the size is known, and five sizes of Eigen's LLT took
// eleven of the twenty seconds that this room's largest file took to compile.
template <int kColumns>
double solve_as(const Normal& normal, const Side& right, Side& solution) {
  const double ridge = 1e-12 * normal.trace();
  double lower[kColumns][kColumns], inverse[kColumns], z[kColumns], explained = 0;
  for (int i = 0; i < kColumns; ++i) {
    for (int j = 0; j <= i; ++j) {
      double sum = normal(i, j) + (i == j ? ridge : 0);
      for (int k = 0; k < j; ++k) sum -= lower[i][k] * lower[j][k];
      if (i == j && !(sum > 0)) return std::numeric_limits<double>::quiet_NaN();
      if (i == j)
        inverse[i] = 1 / std::sqrt(sum);
      else
        lower[i][j] = sum * inverse[j];
    }
    z[i] = right(i);
    for (int k = 0; k < i; ++k) z[i] -= lower[i][k] * z[k];
    z[i] *= inverse[i];
    explained += z[i] * z[i];
  }
  solution.resize(kColumns);
  for (int i = kColumns - 1; i >= 0; --i) {
    solution(i) = z[i];
    for (int k = i + 1; k < kColumns; ++k) solution(i) -= lower[k][i] * solution(k);
    solution(i) *= inverse[i];
  }
  return explained;
}

// Solves for the coefficients (of the lower half) and returns what they explain of the sum of squares; NaN
// when the points cannot carry the model. Sizes known to the compiler take a third of the time.
inline double solve_normal(const Normal& normal, const Side& right, Side& solution) {
  switch (right.size()) {
    case 3:
      return solve_as<3>(normal, right, solution);
    case 5:
      return solve_as<5>(normal, right, solution);
    case 7:
      return solve_as<7>(normal, right, solution);
    case 11:
      return solve_as<11>(normal, right, solution);
    default:
      return solve_as<kMostColumns>(normal, right, solution);
  }
}

// Normal equations of the kept points for one model, carried along from one set of kept points to the next.
class KeptEquations {
public:
  KeptEquations(const Profile& p, int columns)
      : rows_(p.relative_sigma.cwiseInverse().asDiagonal() * p.basis.leftCols(columns)),
        values_(p.deviation_mm.cwiseQuotient(p.relative_sigma)),
        kept_(static_cast<std::size_t>(p.size()), 0),
        normal_(Normal::Zero(columns, columns)),
        right_(Side::Zero(columns)) {}

  // False when the kept points cannot carry the model.
  bool solve(const std::vector<char>& kept, Eigen::VectorXd& coefficients) {
    count_ = 0;
    for (std::size_t i = 0; i < kept.size(); ++i) {
      count_ += kept[i];
      if (kept[i] != kept_[i]) add(static_cast<Eigen::Index>(i), kept[i] ? 1 : -1);
    }
    kept_ = kept;
    const auto columns = right_.size();
    if (count_ < columns + 1) return false;
    Side solution;
    if (std::isnan(solve_normal(normal_, right_, solution))) return false;
    coefficients = solution;
    return true;
  }

private:
  void add(Eigen::Index i, double sign) {
    const double* row = rows_.row(i).data();
    const auto columns = right_.size();
    for (Eigen::Index k = 0; k < columns; ++k) {
      const double w = sign * row[k];
      double* column = normal_.col(k).data();
      for (Eigen::Index j = k; j < columns; ++j) column[j] += w * row[j];  // lower half: all that LLT reads
      right_[k] += w * values_[i];
    }
  }

  Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> rows_;  // over their sigma
  Eigen::VectorXd values_;
  std::vector<char> kept_;
  long count_ = 0;
  Normal normal_;
  Side right_;
};

}  // namespace rondure
