#include "rondure/photo/measuring_plane.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <cmath>

#include "photo/camera/lens_model.hpp"
#include "photo/plane/plane_parameters.hpp"

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

Result<Eigen::Vector2d> part_vector(const MeasuringPlane& plane, const Eigen::Matrix3d& part_from_ideal,
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

Result<PartPoint> part_from_pixel(const MeasuringPlane& plane, const PixelPoint& pixel) {
  const auto part = part_vector(plane, plane.ideal_from_part.inverse(), {pixel.x_px, pixel.y_px});
  if (!part) return part.error();
  return PartPoint::from(*part);
}

Result<PixelPoint> pixel_from_part(const MeasuringPlane& plane, const PartPoint& part) {
  const Eigen::Vector3d q = plane.ideal_from_part * part.vec().homogeneous();
  if (!(q.z() > 0)) return beyond_horizon();
  Eigen::Vector2d pixel = q.hnormalized();
  if (plane.lens) pixel = picture_from_ideal(*plane.lens, pixel);
  return PixelPoint{pixel.x(), pixel.y()};
}

Result<Eigen::Matrix2d> pixel_per_part(const MeasuringPlane& plane, const PartPoint& part) {
  const Eigen::Vector3d q = plane.ideal_from_part * part.vec().homogeneous();
  if (!(q.z() > 0)) return beyond_horizon();
  const Eigen::Matrix2d flat = ideal_per_part(plane.ideal_from_part, part.vec());
  if (!plane.lens) return flat;
  return Eigen::Matrix2d(picture_per_ideal(*plane.lens, q.hnormalized()) * flat);
}

Result<Eigen::Matrix2d> part_per_pixel(const MeasuringPlane& plane, const PixelPoint& pixel) {
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

namespace {

constexpr int kRimPoints = 24;

struct RimShift {
  double diameter_mm = 0, cos2_mm = 0,
         sin2_mm = 0;  // of the diameter, and of the second harmonic of the radius
};

// How a circle's fit moves when its pixels are read with another plane: mean and second harmonic of the
// radial shift.
std::optional<RimShift> rim_shift(const MeasuringPlane& other, const std::vector<PixelPoint>& rim,
                                  const Circle& circle) {
  const Eigen::Matrix3d part_from_ideal = other.ideal_from_part.inverse();
  RimShift shift;
  for (int i = 0; i < kRimPoints; ++i) {
    const double angle = 2 * kPi * i / kRimPoints;
    const auto part = part_vector(other, part_from_ideal, {rim[i].x_px, rim[i].y_px});
    if (!part) return {};
    const Eigen::Vector2d out(std::cos(angle), std::sin(angle));
    const double radial = out.dot(*part - circle.center.vec()) - circle.radius_mm;
    shift.diameter_mm += 2 * radial / kRimPoints;
    shift.cos2_mm += 2 * radial * std::cos(2 * angle) / kRimPoints;
    shift.sin2_mm += 2 * radial * std::sin(2 * angle) / kRimPoints;
  }
  return shift;
}

}  // namespace

PlaneUncertainty u_from_plane(const MeasuringPlane& plane, const Circle& circle) {
  PlaneUncertainty u;
  const double diameter = circle.diameter_mm();
  u.u_scale_mm = plane.u_scale_ratio * diameter;
  if (const auto slope = pixel_per_part(plane, circle.center))
    u.u_edge_offset_mm = 2 * plane.u_edge_offset_px / std::sqrt(std::abs(slope->determinant()));
  std::vector<PixelPoint> rim;
  for (int i = 0; i < kRimPoints; ++i) {
    const double angle = 2 * kPi * i / kRimPoints;
    const auto pixel = pixel_from_part(plane, {circle.center.x_mm + circle.radius_mm * std::cos(angle),
                                               circle.center.y_mm + circle.radius_mm * std::sin(angle)});
    if (!pixel) return u;
    rim.push_back(*pixel);
  }
  for (const Eigen::VectorXd& step : covariance_steps(plane)) {
    const auto up = rim_shift(moved_plane(plane, step, 0), rim, circle);
    const auto down = rim_shift(moved_plane(plane, -step, 0), rim, circle);
    if (!up || !down) continue;
    u.u_pose_mm += std::pow((up->diameter_mm - down->diameter_mm) / 2, 2);
    const Eigen::Vector2d bend((up->cos2_mm - down->cos2_mm) / 2, (up->sin2_mm - down->sin2_mm) / 2);
    u.second_harmonic_mm2 += bend * bend.transpose();
  }
  if (plane.focal_hint_px > 0) {
    MeasuringPlane far = plane, near = plane;
    far.ideal_from_part =
        homography_at_height(plane, plane.focal_hint_px * (1 + plane.u_focal_hint_ratio), plane.height_mm);
    near.ideal_from_part =
        homography_at_height(plane, plane.focal_hint_px * (1 - plane.u_focal_hint_ratio), plane.height_mm);
    const auto up = rim_shift(far, rim, circle), down = rim_shift(near, rim, circle);
    if (up && down) u.u_pose_mm += std::pow((up->diameter_mm - down->diameter_mm) / 2, 2);
  }
  if (plane.bent)
    if (const auto shift = rim_shift(*plane.bent, rim, circle)) {
      const PlaneUncertainty of_bent = u_from_plane(*plane.bent, circle);
      u.u_pose_mm += std::pow(shift->diameter_mm, 2) + std::pow(of_bent.u_pose_mm, 2);
      const Eigen::Vector2d bend(shift->cos2_mm, shift->sin2_mm);
      u.second_harmonic_mm2 += bend * bend.transpose() + of_bent.second_harmonic_mm2;
    }
  u.u_pose_mm = std::sqrt(u.u_pose_mm);
  u.u_ovality_mm = 4 * std::sqrt(u.second_harmonic_mm2.trace() / 2);
  if (plane.u_height_mm > 0) {
    const Eigen::VectorXd none = Eigen::VectorXd::Zero(plane_parameter_count(plane));
    const auto up = rim_shift(moved_plane(plane, none, plane.u_height_mm), rim, circle);
    const auto down = rim_shift(moved_plane(plane, none, -plane.u_height_mm), rim, circle);
    if (up && down) u.u_height_mm = std::abs(up->diameter_mm - down->diameter_mm) / 2;
  }
  return u;
}

}  // namespace rondure
