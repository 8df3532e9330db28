// The distortion polynomial, for plain numbers and for Ceres' differentiating ones.
#pragma once
#include <Eigen/Core>

#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

// Normalised ideal point -> normalised point of the picture. k: k1 k2 p1 p2 k3.
template <class T>
Eigen::Matrix<T, 2, 1> distorted(const T* k, const Eigen::Matrix<T, 2, 1>& n) {
  const T x = n.x(), y = n.y(), r2 = x * x + y * y;
  const T radial = T(1) + r2 * (k[0] + r2 * (k[1] + r2 * k[4]));
  return {x * radial + T(2) * k[2] * x * y + k[3] * (r2 + T(2) * x * x),
          y * radial + k[2] * (r2 + T(2) * y * y) + T(2) * k[3] * x * y};
}

// Its derivative by the point.
Eigen::Matrix2d distortion_slope(const Lens& lens, const Eigen::Vector2d& n);

}  // namespace rondure
