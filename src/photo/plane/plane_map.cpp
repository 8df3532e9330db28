#include "photo/plane/plane_map.hpp"

namespace rondure {

bool PlaneMap::part(const Eigen::Vector2d& pixel, Eigen::Vector2d& part, Eigen::Matrix2d& slope) const {
  Eigen::Vector2d ideal = pixel;
  Eigen::Matrix2d ideal_per_pixel = Eigen::Matrix2d::Identity();
  if (lens_) {
    const Lens& lens = *lens_;
    const Eigen::Vector2d target((pixel.x() - lens.center_x_px) / lens.focal_x_px,
                                 (pixel.y() - lens.center_y_px) / lens.focal_y_px);
    Eigen::Vector2d n = target;
    Eigen::Matrix2d inverse;
    for (int i = 0;; ++i) {
      const Eigen::Matrix2d forward = distortion_slope(lens, n);
      const double determinant = forward.determinant();
      if (i == 30 || !(determinant > 0.02) || !(forward.trace() > 0)) return false;
      inverse << forward(1, 1), -forward(0, 1), -forward(1, 0), forward(0, 0);
      inverse /= determinant;
      const Eigen::Vector2d step = inverse * (distorted<double>(lens.distortion.data(), n) - target);
      n -= step;
      if (step.squaredNorm() < 1e-22) break;
    }
    ideal = {lens.focal_x_px * n.x() + lens.center_x_px, lens.focal_y_px * n.y() + lens.center_y_px};
    ideal_per_pixel = inverse;
    ideal_per_pixel(0, 1) *= lens.focal_x_px / lens.focal_y_px;
    ideal_per_pixel(1, 0) *= lens.focal_y_px / lens.focal_x_px;
  }
  const Eigen::Vector3d q = inverse_ * ideal.homogeneous();
  if (!(q.z() > 0)) return false;
  part = q.hnormalized();
  Eigen::Matrix2d part_per_ideal;
  for (int r = 0; r < 2; ++r)
    for (int c = 0; c < 2; ++c) part_per_ideal(r, c) = (inverse_(r, c) - part(r) * inverse_(2, c)) / q.z();
  slope = part_per_ideal * ideal_per_pixel;
  return true;
}

bool PlaneMap::pixel(const Eigen::Vector2d& part, Eigen::Vector2d& pixel) const {
  const Eigen::Vector3d q = h_ * part.homogeneous();
  if (!(q.z() > 0)) return false;
  pixel = q.hnormalized();
  if (lens_) pixel = picture_from_ideal(*lens_, pixel);
  return true;
}

}  // namespace rondure
