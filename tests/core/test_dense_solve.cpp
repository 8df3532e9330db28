#include <Eigen/LU>
#include <catch2/catch.hpp>
#include <limits>

#include "rondure/core/dense_solve.hpp"

using namespace rondure;

namespace {

// Hilbert's matrix 1/(i + j + 1), whose inverse has whole numbers (its order 4: from memory).
Eigen::MatrixXd hilbert(int n) {
  Eigen::MatrixXd h(n, n);
  for (int i = 0; i < n; ++i)
    for (int j = 0; j < n; ++j) h(i, j) = 1.0 / (i + j + 1);
  return h;
}

}  // namespace

TEST_CASE("dense solve: Hilbert's matrix of order 4 has its inverse of whole numbers", "[dense]") {
  Eigen::Matrix4d whole;
  whole << 16, -120, 240, -140, -120, 1200, -2700, 1680, 240, -2700, 6480, -4200, -140, 1680, -4200, 2800;
  CHECK((inverse_symmetric(hilbert(4)) - whole).norm() < 1e-8);
  CHECK((inverse_positive(hilbert(4)) - whole).norm() < 1e-8);
  CHECK(PositiveSolver(hilbert(4)).half_log_det() == Approx(-0.5 * std::log(6048000.0)));  // det = 1/6048000
  CHECK(SymmetricSolver(hilbert(4)).pivots().array().log().sum() == Approx(-std::log(6048000.0)));
}

TEST_CASE("dense solve: only the lower half is read", "[dense]") {
  Eigen::MatrixXd lower = hilbert(5).triangularView<Eigen::Lower>();
  const Eigen::VectorXd b = Eigen::VectorXd::LinSpaced(5, -1, 3), x = hilbert(5).partialPivLu().solve(b);
  lower.triangularView<Eigen::StrictlyUpper>().setConstant(77);
  CHECK((SymmetricSolver(lower).solve(b) - x).norm() < 1e-6 * x.norm());
  CHECK((PositiveSolver(lower).solve(b) - x).norm() < 1e-6 * x.norm());
  const SymmetricEigen eigen = symmetric_eigen(lower);
  CHECK((eigen.vectors * eigen.values.asDiagonal() * eigen.vectors.transpose() - hilbert(5)).norm() < 1e-14);
  CHECK(std::is_sorted(eigen.values.data(), eigen.values.data() + 5));
}

TEST_CASE("dense solve: a matrix that is not positive definite, or holds no number, is said", "[dense]") {
  CHECK_FALSE(PositiveSolver(Eigen::MatrixXd(-hilbert(3))).ok());
  CHECK(SymmetricSolver(Eigen::MatrixXd(-hilbert(3))).ok());
  Eigen::MatrixXd none = hilbert(3);
  none(2, 1) = std::numeric_limits<double>::quiet_NaN();
  CHECK_FALSE(PositiveSolver(none).ok());
}

TEST_CASE("dense solve: least squares leaves a rest that no column sees, and says how many columns differ",
          "[dense]") {
  Eigen::MatrixXd a(6, 3);
  for (int i = 0; i < 6; ++i) a.row(i) << 1, i, i * i;
  const Eigen::VectorXd b = (Eigen::VectorXd(6) << 1, 3, 2, 5, 4, 9).finished();
  const LeastSquares fit = least_squares(a, b);
  CHECK(fit.rank == 3);
  CHECK(cross(a, Eigen::VectorXd(b - a * fit.x)).norm() < 1e-11);
  CHECK((gram(a) - cross(a, a)).norm() == 0);
  a.col(2) = 2 * a.col(1);
  CHECK(least_squares(a, b).rank == 2);
}
