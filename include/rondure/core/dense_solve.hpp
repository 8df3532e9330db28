// Dense linear algebra of matrices of any size, compiled once: Eigen's decompositions by templates took a third of the time
// of a whole build, in every file that used one. Where a loop over all pixels or readings solves by a size known to the
// compiler, Eigen's own fixed sizes stay.
#pragma once
#include <Eigen/Core>
#include <memory>

namespace rondure {

// Eigenvalues in ascending order, one column of `vectors` (orthonormal) each, of a symmetric matrix; its lower half is read.
struct SymmetricEigen {
  Eigen::VectorXd values;
  Eigen::MatrixXd vectors;
};
SymmetricEigen symmetric_eigen(const Eigen::MatrixXd& symmetric);

// A = P'L D L'P with pivots, of a symmetric matrix that is positive or nearly so (singular directions are left at 0); its lower
// half is read.
class SymmetricSolver {
public:
  explicit SymmetricSolver(const Eigen::MatrixXd& symmetric);
  ~SymmetricSolver();
  Eigen::MatrixXd solve(const Eigen::MatrixXd& right) const;
  Eigen::VectorXd solve(const Eigen::VectorXd& right) const;
  Eigen::VectorXd pivots() const;  // D
  bool ok() const;                 // false where the decomposition failed (a number that is none)

private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

// A = L L' of a positive definite matrix, else not ok(); its lower half is read.
class PositiveSolver {
public:
  explicit PositiveSolver(const Eigen::MatrixXd& positive);
  ~PositiveSolver();
  Eigen::MatrixXd solve(const Eigen::MatrixXd& right) const;
  Eigen::VectorXd solve(const Eigen::VectorXd& right) const;
  double half_log_det() const;
  bool ok() const;

private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

Eigen::MatrixXd inverse_symmetric(const Eigen::MatrixXd& symmetric);  // by SymmetricSolver
Eigen::MatrixXd inverse_positive(const Eigen::MatrixXd& positive);    // by PositiveSolver

// The x of least |A x - b|, by Householder's QR with column pivots; `rank` of A, to the rounding of its numbers.
struct LeastSquares {
  Eigen::VectorXd x;
  Eigen::Index rank = 0;
};
LeastSquares least_squares(const Eigen::MatrixXd& a, const Eigen::VectorXd& b);

Eigen::MatrixXd gram(const Eigen::MatrixXd& a);                             // A'A
Eigen::MatrixXd cross(const Eigen::MatrixXd& a, const Eigen::MatrixXd& b);  // A'B
Eigen::VectorXd cross(const Eigen::MatrixXd& a, const Eigen::VectorXd& b);  // A'b

}  // namespace rondure
