#include <Eigen/LU>

#include "photo/camera/lens_model.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

Eigen::Matrix2d distortion_slope(const Lens& lens, const Eigen::Vector2d& n) {
  const auto& [k1, k2, p1, p2, k3] = lens.distortion;
  const double x = n.x(), y = n.y(), r2 = n.squaredNorm();
  const double radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3));
  const double slope = 2 * (k1 + r2 * (2 * k2 + r2 * 3 * k3));  // d radial / d r2, times 2
  Eigen::Matrix2d j;
  j(0, 0) = radial + slope * x * x + 2 * p1 * y + 6 * p2 * x;
  j(0, 1) = slope * x * y + 2 * p1 * x + 2 * p2 * y;
  j(1, 0) = j(0, 1);
  j(1, 1) = radial + slope * y * y + 6 * p1 * y + 2 * p2 * x;
  return j;
}

Eigen::Vector2d picture_from_ideal(const Lens& lens, const Eigen::Vector2d& ideal_px) {
  const Eigen::Vector2d n((ideal_px.x() - lens.center_x_px) / lens.focal_x_px,
                          (ideal_px.y() - lens.center_y_px) / lens.focal_y_px);
  const Eigen::Vector2d d = distorted<double>(lens.distortion.data(), n);
  return {lens.focal_x_px * d.x() + lens.center_x_px, lens.focal_y_px * d.y() + lens.center_y_px};
}

Result<Eigen::Vector2d> ideal_from_picture(const Lens& lens, const Eigen::Vector2d& picture_px) {
  const Eigen::Vector2d target((picture_px.x() - lens.center_x_px) / lens.focal_x_px,
                               (picture_px.y() - lens.center_y_px) / lens.focal_y_px);
  Eigen::Vector2d n = target;
  for (int i = 0; i < 40; ++i) {
    const Eigen::Matrix2d slope = distortion_slope(lens, n);
    // Monotone region only: a determinant or a radial slope gone negative means the model has folded over.
    if (!(slope.determinant() > 0.02) || !(slope.trace() > 0)) break;
    const Eigen::Vector2d excess = distorted<double>(lens.distortion.data(), n) - target;
    const Eigen::Vector2d step = slope.inverse() * excess;
    n -= step;
    if (step.squaredNorm() < 1e-26)
      return Eigen::Vector2d(lens.focal_x_px * n.x() + lens.center_x_px,
                             lens.focal_y_px * n.y() + lens.center_y_px);
  }
  return Error{ErrorCode::kBadCalibration, "the lens model does not reach pixel " +
                                               std::to_string(static_cast<int>(picture_px.x())) + ", " +
                                               std::to_string(static_cast<int>(picture_px.y())) +
                                               "; needed calibration views that cover it"};
}

}  // namespace rondure
