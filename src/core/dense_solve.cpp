#include "rondure/core/dense_solve.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/QR>

namespace rondure {

SymmetricEigen symmetric_eigen(const Eigen::MatrixXd& symmetric) {
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(symmetric);
  return {eigen.eigenvalues(), eigen.eigenvectors()};
}

struct SymmetricSolver::Parts {
  Eigen::LDLT<Eigen::MatrixXd> ldlt;
};
SymmetricSolver::SymmetricSolver(const Eigen::MatrixXd& symmetric)
    : parts_(std::make_unique<Parts>(Parts{Eigen::LDLT<Eigen::MatrixXd>(symmetric)})) {}
SymmetricSolver::~SymmetricSolver() = default;
Eigen::MatrixXd SymmetricSolver::solve(const Eigen::MatrixXd& right) const {
  return parts_->ldlt.solve(right);
}
Eigen::VectorXd SymmetricSolver::solve(const Eigen::VectorXd& right) const {
  return parts_->ldlt.solve(right);
}
Eigen::VectorXd SymmetricSolver::pivots() const { return parts_->ldlt.vectorD(); }
bool SymmetricSolver::ok() const { return parts_->ldlt.info() == Eigen::Success; }

struct PositiveSolver::Parts {
  Eigen::LLT<Eigen::MatrixXd> llt;
};
PositiveSolver::PositiveSolver(const Eigen::MatrixXd& positive)
    : parts_(std::make_unique<Parts>(Parts{Eigen::LLT<Eigen::MatrixXd>(positive)})) {}
PositiveSolver::~PositiveSolver() = default;
Eigen::MatrixXd PositiveSolver::solve(const Eigen::MatrixXd& right) const { return parts_->llt.solve(right); }
Eigen::VectorXd PositiveSolver::solve(const Eigen::VectorXd& right) const { return parts_->llt.solve(right); }
double PositiveSolver::half_log_det() const { return parts_->llt.matrixLLT().diagonal().array().log().sum(); }
// A pivot that is no number passes for positive in Eigen.
bool PositiveSolver::ok() const {
  return parts_->llt.info() == Eigen::Success && parts_->llt.matrixLLT().diagonal().allFinite();
}

Eigen::MatrixXd inverse_symmetric(const Eigen::MatrixXd& symmetric) {
  return SymmetricSolver(symmetric).solve(
      Eigen::MatrixXd(Eigen::MatrixXd::Identity(symmetric.rows(), symmetric.cols())));
}

Eigen::MatrixXd inverse_positive(const Eigen::MatrixXd& positive) {
  return PositiveSolver(positive).solve(
      Eigen::MatrixXd(Eigen::MatrixXd::Identity(positive.rows(), positive.cols())));
}

LeastSquares least_squares(const Eigen::MatrixXd& a, const Eigen::VectorXd& b) {
  const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(a);
  return {qr.solve(b), qr.rank()};
}

Eigen::MatrixXd gram(const Eigen::MatrixXd& a) { return a.transpose() * a; }
Eigen::MatrixXd cross(const Eigen::MatrixXd& a, const Eigen::MatrixXd& b) { return a.transpose() * b; }
Eigen::VectorXd cross(const Eigen::MatrixXd& a, const Eigen::VectorXd& b) { return a.transpose() * b; }

}  // namespace rondure
