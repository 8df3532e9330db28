// A covariance of parameters whose sizes differ by orders of magnitude (a homography's entries and a focal length): taken
// apart as a correlation matrix, in its principal axes.
#pragma once
#include <Eigen/Core>
#include <vector>

namespace rondure {

// Columns s_j with sum s_j s_j^T = covariance: steps of one standard deviation along independent axes. Axes whose share of
// the correlation is not above `least` (of 1 an axis in the mean) are left out. A parameter without variance does not move.
std::vector<Eigen::VectorXd> covariance_steps(const Eigen::MatrixXd& covariance, double least = 1e-14);

// The inverse on the space where the covariance has any size (Moore and Penrose, of the correlation matrix): axes whose
// share is not above `least` count as known, and weigh nothing.
Eigen::MatrixXd covariance_inverse(const Eigen::MatrixXd& covariance, double least = 1e-9);

}  // namespace rondure
