#include "photo/plane/plane_parameters.hpp"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <cmath>

#include "rondure/core/covariance.hpp"

namespace rondure {

int plane_parameter_count(const MeasuringPlane& plane) {
  return kHomographyParameters + (plane.lens ? kLensParameters : 0);
}

Eigen::VectorXd plane_parameters(const MeasuringPlane& plane) {
  Eigen::VectorXd p(plane_parameter_count(plane));
  const Eigen::Matrix3d h = plane.ideal_from_board / plane.ideal_from_board(2, 2);
  p.head<8>() << h(0, 0), h(0, 1), h(0, 2), h(1, 0), h(1, 1), h(1, 2), h(2, 0), h(2, 1);
  if (plane.lens) {
    const Lens& lens = *plane.lens;
    p.segment<4>(8) << lens.focal_x_px, lens.focal_y_px, lens.center_x_px, lens.center_y_px;
    for (int i = 0; i < 5; ++i) p(12 + i) = lens.distortion[static_cast<std::size_t>(i)];
  }
  return p;
}

std::vector<Eigen::VectorXd> covariance_steps(const MeasuringPlane& plane) {
  const Eigen::MatrixXd& c = plane.covariance;
  if (c.rows() == 0 || c.rows() != plane_parameter_count(plane)) return {};
  return covariance_steps(c);
}

std::optional<double> focal_from_homography(const Eigen::Matrix3d& h, double center_x_px,
                                            double center_y_px) {
  Eigen::Matrix3d shift = Eigen::Matrix3d::Identity();
  shift(0, 2) = -center_x_px;
  shift(1, 2) = -center_y_px;
  const Eigen::Matrix3d g = shift * h;
  // w = 1 / f^2:  a1.a2 w + g31 g32 = 0  and  (|a1|^2 - |a2|^2) w + g31^2 - g32^2 = 0, a = first two rows of
  // the columns.
  const Eigen::Vector2d a1 = g.block<2, 1>(0, 0), a2 = g.block<2, 1>(0, 1);
  const double p[2] = {a1.dot(a2), (a1.squaredNorm() - a2.squaredNorm()) / 2};
  const double q[2] = {g(2, 0) * g(2, 1), (g(2, 0) * g(2, 0) - g(2, 1) * g(2, 1)) / 2};
  const double pp = p[0] * p[0] + p[1] * p[1], pq = p[0] * q[0] + p[1] * q[1];
  if (!(pp > 0) || !(pq < 0)) return {};
  const double w = -pq / pp;
  const double focal = std::sqrt(1 / w);
  if (!std::isfinite(focal) || !(focal > 0)) return {};
  return focal;
}

Eigen::Matrix3d homography_at_height(const MeasuringPlane& plane, double focal_px, double height_mm) {
  if (height_mm == 0) return plane.ideal_from_board;
  Eigen::Matrix3d k = Eigen::Matrix3d::Identity();
  if (plane.lens)
    k << plane.lens->focal_x_px, 0, plane.lens->center_x_px, 0, plane.lens->focal_y_px,
        plane.lens->center_y_px, 0, 0, 1;
  else
    k << focal_px, 0, (plane.width_px - 1) / 2.0, 0, focal_px, (plane.height_px - 1) / 2.0, 0, 0, 1;
  const Eigen::Matrix3d a = k.inverse() * plane.ideal_from_board;  // lambda [r1 r2 t]
  const double lambda = std::sqrt(a.col(0).cross(a.col(1)).norm());
  Eigen::Vector3d normal = a.col(0).cross(a.col(1)) / (lambda * lambda);
  if (normal.dot(a.col(2)) > 0) normal = -normal;  // towards the camera
  Eigen::Matrix3d raised = plane.ideal_from_board;
  raised.col(2) += height_mm * lambda * (k * normal);
  return raised;
}

MeasuringPlane moved_plane(const MeasuringPlane& plane, const Eigen::VectorXd& step, double height_step_mm) {
  MeasuringPlane moved;
  moved.width_px = plane.width_px;
  moved.height_px = plane.height_px;
  moved.lens = plane.lens;
  moved.focal_hint_px = plane.focal_hint_px;
  const Eigen::VectorXd p = plane_parameters(plane) + step;
  moved.ideal_from_board << p(0), p(1), p(2), p(3), p(4), p(5), p(6), p(7), 1;
  if (moved.lens) {
    Lens& lens = *moved.lens;
    lens.focal_x_px = p(8), lens.focal_y_px = p(9), lens.center_x_px = p(10), lens.center_y_px = p(11);
    for (int i = 0; i < 5; ++i) lens.distortion[static_cast<std::size_t>(i)] = p(12 + i);
  }
  moved.height_mm = plane.height_mm + height_step_mm;
  double focal = plane.focal_hint_px;
  if (!moved.lens && focal == 0 && moved.height_mm != 0)
    focal =
        focal_from_homography(moved.ideal_from_board, (plane.width_px - 1) / 2.0, (plane.height_px - 1) / 2.0)
            .value_or(0);
  const bool can_raise = moved.lens || focal > 0;
  moved.ideal_from_part =
      can_raise ? homography_at_height(moved, focal, moved.height_mm) : moved.ideal_from_board;
  return moved;
}

}  // namespace rondure
