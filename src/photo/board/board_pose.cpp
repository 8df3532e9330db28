#include <Eigen/Dense>
#include <Eigen/Geometry>

#include "photo/camera/refine.hpp"

namespace rondure {

Vector9 lens_vector(const Lens& lens) {
  Vector9 v;
  v << lens.focal_x_px, lens.focal_y_px, lens.center_x_px, lens.center_y_px, lens.distortion[0],
      lens.distortion[1], lens.distortion[2], lens.distortion[3], lens.distortion[4];
  return v;
}

Lens lens_from(const Vector9& v) { return {v(0), v(1), v(2), v(3), {v(4), v(5), v(6), v(7), v(8)}}; }

namespace {

Eigen::Matrix3d camera_matrix(const Lens& lens) {
  Eigen::Matrix3d k;
  k << lens.focal_x_px, 0, lens.center_x_px, 0, lens.focal_y_px, lens.center_y_px, 0, 0, 1;
  return k;
}

}  // namespace

Eigen::Matrix3d homography_of(const Vector6& pose, const Lens& lens) {
  const double angle = pose.head<3>().norm();
  const Eigen::Matrix3d r = angle > 0 ? Eigen::AngleAxisd(angle, pose.head<3>() / angle).toRotationMatrix()
                                      : Eigen::Matrix3d(Eigen::Matrix3d::Identity());
  Eigen::Matrix3d columns;
  columns << r.col(0), r.col(1), pose.tail<3>();
  const Eigen::Matrix3d h = camera_matrix(lens) * columns;
  return h / h(2, 2);
}

Vector6 pose_from_homography(const Eigen::Matrix3d& h, const Lens& lens) {
  Eigen::Matrix3d a = camera_matrix(lens).inverse() * h;
  a /= std::sqrt(a.col(0).norm() * a.col(1).norm());
  if (a(2, 2) < 0) a = -a;  // the board lies in front of the camera
  Eigen::Matrix3d r;
  r << a.col(0), a.col(1), a.col(0).cross(a.col(1));
  const Eigen::JacobiSVD<Eigen::Matrix3d> svd(r, Eigen::ComputeFullU | Eigen::ComputeFullV);
  const Eigen::AngleAxisd turn(Eigen::Matrix3d(svd.matrixU() * svd.matrixV().transpose()));
  Vector6 pose;
  pose << turn.angle() * turn.axis(), a.col(2);
  return pose;
}

}  // namespace rondure
