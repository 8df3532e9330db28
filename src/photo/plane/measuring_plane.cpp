#include "rondure/photo/measuring_plane.hpp"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <cmath>

#include "photo/camera/lens_model.hpp"

namespace rondure {
namespace {

Eigen::Vector2d normalised(const Lens& lens, const Eigen::Vector2d& ideal) {
  return {(ideal.x() - lens.center_x_px) / lens.focal_x_px, (ideal.y() - lens.center_y_px) / lens.focal_y_px};
}

// d(picture px) / d(ideal px).
Eigen::Matrix2d picture_per_ideal(const Lens& lens, const Eigen::Vector2d& ideal) {
  Eigen::Matrix2d j = distortion_slope(lens, normalised(lens, ideal));
  j(0, 1) *= lens.focal_x_px / lens.focal_y_px;
  j(1, 0) *= lens.focal_y_px / lens.focal_x_px;
  return j;
}

// d(ideal px) / d(part mm) of the homography.
Eigen::Matrix2d ideal_per_part(const Eigen::Matrix3d& h, const Eigen::Vector2d& part) {
  const Eigen::Vector3d q = h * part.homogeneous();
  Eigen::Matrix2d j;
  for (int r = 0; r < 2; ++r)
    for (int c = 0; c < 2; ++c) j(r, c) = (h(r, c) * q.z() - q(r) * h(2, c)) / (q.z() * q.z());
  return j;
}

Error beyond_horizon() {
  return {ErrorCode::kBadCalibration, "the place lies beyond the horizon of the measuring plane"};
}

Result<Eigen::Vector2d> part_vector(const PlaneGeometry& plane, const Eigen::Matrix3d& part_from_ideal,
                                    const Eigen::Vector2d& pixel) {
  Eigen::Vector2d ideal = pixel;
  if (plane.lens) {
    const auto undistorted = ideal_from_picture(*plane.lens, pixel);
    if (!undistorted) return undistorted.error();
    ideal = *undistorted;
  }
  const Eigen::Vector3d q = part_from_ideal * ideal.homogeneous();
  if (!(q.z() > 0)) return beyond_horizon();
  return Eigen::Vector2d(q.hnormalized());
}

}  // namespace

MeasuringPlane plane_of_scale(int width_px, int height_px, double px_per_mm, double u_px_per_mm) {
  MeasuringPlane plane;
  plane.width_px = width_px;
  plane.height_px = height_px;
  plane.ideal_from_part << px_per_mm, 0, 0, 0, -px_per_mm, height_px - 1.0, 0, 0, 1;
  plane.ideal_from_board = plane.ideal_from_part;
  plane.u_scale_ratio = u_px_per_mm / px_per_mm;
  plane.description = "known scale, square-on view";
  return plane;
}

Result<PartPoint> part_from_pixel(const PlaneGeometry& plane, const PixelPoint& pixel) {
  const auto part = part_vector(plane, plane.ideal_from_part.inverse(), {pixel.x_px, pixel.y_px});
  if (!part) return part.error();
  return PartPoint::from(*part);
}

Result<PixelPoint> pixel_from_part(const PlaneGeometry& plane, const PartPoint& part) {
  const Eigen::Vector3d q = plane.ideal_from_part * part.vec().homogeneous();
  if (!(q.z() > 0)) return beyond_horizon();
  Eigen::Vector2d pixel = q.hnormalized();
  if (plane.lens) pixel = picture_from_ideal(*plane.lens, pixel);
  return PixelPoint{pixel.x(), pixel.y()};
}

Result<Eigen::Matrix2d> pixel_per_part(const PlaneGeometry& plane, const PartPoint& part) {
  const Eigen::Vector3d q = plane.ideal_from_part * part.vec().homogeneous();
  if (!(q.z() > 0)) return beyond_horizon();
  const Eigen::Matrix2d flat = ideal_per_part(plane.ideal_from_part, part.vec());
  if (!plane.lens) return flat;
  return Eigen::Matrix2d(picture_per_ideal(*plane.lens, q.hnormalized()) * flat);
}

Result<Eigen::Matrix2d> part_per_pixel(const PlaneGeometry& plane, const PixelPoint& pixel) {
  const auto part = part_from_pixel(plane, pixel);
  if (!part) return part.error();
  const auto slope = pixel_per_part(plane, *part);
  if (!slope) return slope.error();
  return Eigen::Matrix2d(slope->inverse());
}

double PlaneUncertainty::total_mm() const {
  return std::sqrt(u_pose_mm * u_pose_mm + u_scale_mm * u_scale_mm + u_height_mm * u_height_mm +
                   u_edge_offset_mm * u_edge_offset_mm);
}

}  // namespace rondure
