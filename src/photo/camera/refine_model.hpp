// The projection as Ceres differentiates it; included by refine_*.cpp only.
#pragma once
#include <ceres/ceres.h>
#include <ceres/rotation.h>

#include <Eigen/Dense>

#include "photo/camera/refine.hpp"

namespace rondure {

// Board point -> pixel through pose (rotation vector, translation) and lens (fx fy cx cy k1 k2 p1 p2 k3).
template <class T>
Eigen::Matrix<T, 2, 1> project(const Eigen::Vector2d& board_mm, const T* pose, const T* lens,
                               const T& z_mm = T(0)) {
  const T point[3] = {T(board_mm.x()), T(board_mm.y()), z_mm};
  T camera[3];
  ceres::AngleAxisRotatePoint(pose, point, camera);
  for (int i = 0; i < 3; ++i) camera[i] += pose[3 + i];
  const Eigen::Matrix<T, 2, 1> n(camera[0] / camera[2], camera[1] / camera[2]);
  const Eigen::Matrix<T, 2, 1> d = distorted<T>(lens + 4, n);
  return {lens[0] * d.x() + lens[2], lens[1] * d.y() + lens[3]};
}

// Dense Jacobian of a problem at its present values, loss functions included; parameters in the order given.
inline Eigen::MatrixXd dense_jacobian(ceres::Problem& problem, const std::vector<double*>& blocks,
                                      Eigen::VectorXd* residuals) {
  ceres::Problem::EvaluateOptions options;
  options.parameter_blocks = blocks;
  options.apply_loss_function = true;
  ceres::CRSMatrix crs;
  std::vector<double> r;
  double cost = 0;
  problem.Evaluate(options, &cost, &r, nullptr, &crs);
  Eigen::MatrixXd j = Eigen::MatrixXd::Zero(crs.num_rows, crs.num_cols);
  for (int row = 0; row < crs.num_rows; ++row)
    for (int k = crs.rows[static_cast<std::size_t>(row)]; k < crs.rows[static_cast<std::size_t>(row) + 1];
         ++k)
      j(row, crs.cols[static_cast<std::size_t>(k)]) = crs.values[static_cast<std::size_t>(k)];
  if (residuals) *residuals = Eigen::Map<Eigen::VectorXd>(r.data(), static_cast<Eigen::Index>(r.size()));
  return j;
}

// Inverse of a normal matrix whose parameters differ by orders of magnitude.
inline Eigen::MatrixXd scaled_inverse(const Eigen::MatrixXd& n) {
  const Eigen::VectorXd scale = n.diagonal().cwiseMax(1e-300).cwiseSqrt().cwiseInverse();
  const Eigen::MatrixXd unit = scale.asDiagonal() * n * scale.asDiagonal();
  const Eigen::MatrixXd inverse = unit.ldlt().solve(Eigen::MatrixXd::Identity(n.rows(), n.cols()));
  return scale.asDiagonal() * inverse * scale.asDiagonal();
}

}  // namespace rondure
