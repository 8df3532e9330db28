// The measuring plane as the renderer's camera has it: no calibration error.
#pragma once
#include <Eigen/Dense>

#include "render/scene.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

inline MeasuringPlane true_plane(const render::Camera& camera, double height_mm = 0) {
  MeasuringPlane plane;
  plane.width_px = camera.width_px;
  plane.height_px = camera.height_px;
  plane.lens = camera.lens;
  Eigen::Matrix3d k;
  k << camera.lens.focal_x_px, 0, camera.lens.center_x_px, 0, camera.lens.focal_y_px, camera.lens.center_y_px,
      0, 0, 1;
  const auto homography = [&](double z) {
    Eigen::Matrix3d h;
    h << camera.rotation.col(0), camera.rotation.col(1), camera.translation_mm + z * camera.rotation.col(2);
    const Eigen::Matrix3d kh = k * h;
    return Eigen::Matrix3d(kh / kh(2, 2));
  };
  plane.ideal_from_part = homography(height_mm);
  plane.ideal_from_board = homography(0);
  plane.height_mm = height_mm;
  return plane;
}

}  // namespace rondure
