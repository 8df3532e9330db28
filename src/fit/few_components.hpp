// A symmetric matrix seen by a few vectors alone: Householder's tridiagonal form (form_sums.hpp needs no more), and from it the
// eigenvalues with the vectors' components along the eigenvectors, by implicit QR with Wilkinson's shift, its rotations
// turned upon the few vectors alone (Golub & Van Loan, Matrix Computations, ch. 8, from memory). Accurate as an
// eigenvector solver is: to rounding of the largest eigenvalue. (4/3) m^3 operations and a few m^2, where the
// eigenvectors take about 9 m^3.
#pragma once
#include <Eigen/Core>

namespace rondure {

using FewRows = Eigen::Matrix<double, 4, Eigen::Dynamic>;

struct Tridiagonal {
  Eigen::VectorXd diagonal, beside;  // m and m - 1
  FewRows parts;                     // the vectors, as rows, in the same directions
};

// `symmetric`: its lower triangle is read. `vectors`: each row one of them.
Tridiagonal tridiagonal(const Eigen::MatrixXd& symmetric, const FewRows& vectors);

// The same with `beside` zero: eigenvalues, in no order.
Tridiagonal diagonalised(Tridiagonal form);

}  // namespace rondure
