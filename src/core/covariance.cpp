#include "rondure/core/covariance.hpp"

#include <cmath>

#include "rondure/core/dense_solve.hpp"

namespace rondure {
namespace {

struct Correlation {
  Eigen::VectorXd sd;
  SymmetricEigen axes;
};

// m(i, j) / (sd_i sd_j); 0 where there is no variance.
Eigen::MatrixXd over_sd(Eigen::MatrixXd m, const Eigen::VectorXd& sd) {
  for (int i = 0; i < m.rows(); ++i)
    for (int j = 0; j < m.cols(); ++j) m(i, j) = sd(i) > 0 && sd(j) > 0 ? m(i, j) / (sd(i) * sd(j)) : 0;
  return m;
}

Correlation correlation_of(const Eigen::MatrixXd& covariance) {
  const Eigen::VectorXd sd = covariance.diagonal().cwiseMax(0).cwiseSqrt();
  return {sd, symmetric_eigen(over_sd(covariance, sd))};
}

}  // namespace

std::vector<Eigen::VectorXd> covariance_steps(const Eigen::MatrixXd& covariance, double least) {
  const auto [sd, axes] = correlation_of(covariance);
  std::vector<Eigen::VectorXd> steps;
  for (int i = 0; i < sd.size(); ++i)
    if (axes.values(i) > least)
      steps.emplace_back(std::sqrt(axes.values(i)) * sd.cwiseProduct(axes.vectors.col(i)));
  return steps;
}

Eigen::MatrixXd covariance_inverse(const Eigen::MatrixXd& covariance, double least) {
  const auto [sd, axes] = correlation_of(covariance);
  Eigen::MatrixXd inverse = Eigen::MatrixXd::Zero(sd.size(), sd.size());
  for (int i = 0; i < sd.size(); ++i)
    if (axes.values(i) > least)
      inverse += axes.vectors.col(i) * axes.vectors.col(i).transpose() / axes.values(i);
  return over_sd(std::move(inverse), sd);
}

}  // namespace rondure
