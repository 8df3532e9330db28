#include "photo/plane/plane_errors.hpp"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <cmath>
#include <optional>

#include "photo/plane/plane_parameters.hpp"

namespace rondure {
namespace {

constexpr int kRimPoints = 24;  // mean and second order of a shift round the rim are exact up to its order 21

// The circle's rim as the plane shows it in the picture.
std::vector<PixelPoint> rim_of(const MeasuringPlane& plane, const Circle& circle) {
  std::vector<PixelPoint> rim;
  for (int i = 0; i < kRimPoints; ++i) {
    const double angle = 2 * kPi * i / kRimPoints;
    const auto pixel = pixel_from_part(plane, {circle.center.x_mm + circle.radius_mm * std::cos(angle),
                                               circle.center.y_mm + circle.radius_mm * std::sin(angle)});
    if (!pixel) return {};
    rim.push_back(*pixel);
  }
  return rim;
}

// How a circle's fit moves when its pixels are read with another plane.
std::optional<RimShift> rim_shift(const MeasuringPlane& other, const std::vector<PixelPoint>& rim,
                                  const Circle& circle) {
  RimShift shift;
  for (int i = 0; i < kRimPoints; ++i) {
    const double angle = 2 * kPi * i / kRimPoints;
    const auto part = part_from_pixel(other, rim[static_cast<std::size_t>(i)]);
    if (!part) return {};
    const Eigen::Vector2d out(std::cos(angle), std::sin(angle));
    const double radial = out.dot(part->vec() - circle.center.vec()) - circle.radius_mm;
    shift.diameter_mm += 2 * radial / kRimPoints;
    shift.cos2_mm += 2 * radial * std::cos(2 * angle) / kRimPoints;
    shift.sin2_mm += 2 * radial * std::sin(2 * angle) / kRimPoints;
  }
  return shift;
}

// Half of what two planes, moved up and down, read differently.
RimShift half_way(const MeasuringPlane& up, const MeasuringPlane& down, const std::vector<PixelPoint>& rim,
                  const Circle& circle) {
  const auto a = rim_shift(up, rim, circle), b = rim_shift(down, rim, circle);
  if (!a || !b) return {};
  return {(a->diameter_mm - b->diameter_mm) / 2, (a->cos2_mm - b->cos2_mm) / 2,
          (a->sin2_mm - b->sin2_mm) / 2};
}

MeasuringPlane with_focal(const MeasuringPlane& plane, double ratio) {
  MeasuringPlane other = plane;
  other.ideal_from_part = homography_at_height(plane, plane.focal_hint_px * ratio, plane.height_mm);
  return other;
}

}  // namespace

PlaneErrors plane_errors(const MeasuringPlane& plane, const Circle& circle) {
  const std::vector<PixelPoint> rim = rim_of(plane, circle);
  PlaneErrors errors;
  if (rim.empty()) return errors;
  for (const Eigen::VectorXd& step : covariance_steps(plane))
    errors.pose.push_back(half_way(moved_plane(plane, step, 0), moved_plane(plane, -step, 0), rim, circle));
  if (plane.focal_hint_px > 0)
    errors.pose.push_back(half_way(with_focal(plane, 1 + plane.u_focal_hint_ratio),
                                   with_focal(plane, 1 - plane.u_focal_hint_ratio), rim, circle));
  if (plane.bent) {
    errors.pose.push_back(rim_shift(*plane.bent, rim, circle).value_or(RimShift{}));
    for (const RimShift& shift : plane_errors(*plane.bent, circle).pose) errors.pose.push_back(shift);
  }
  if (plane.u_height_mm > 0) {
    const Eigen::VectorXd none = Eigen::VectorXd::Zero(plane_parameter_count(plane));
    errors.height = half_way(moved_plane(plane, none, plane.u_height_mm),
                             moved_plane(plane, none, -plane.u_height_mm), rim, circle);
  }
  return errors;
}

PlaneUncertainty u_from_plane(const MeasuringPlane& plane, const Circle& circle) {
  PlaneUncertainty u;
  u.u_scale_mm = plane.u_scale_ratio * circle.diameter_mm();
  if (const auto slope = pixel_per_part(plane, circle.center))
    u.u_edge_offset_mm = 2 * plane.u_edge_offset_px / std::sqrt(std::abs(slope->determinant()));
  const PlaneErrors errors = plane_errors(plane, circle);
  for (const RimShift& shift : errors.pose) {
    u.u_pose_mm = std::hypot(u.u_pose_mm, shift.diameter_mm);
    const Eigen::Vector2d bend(shift.cos2_mm, shift.sin2_mm);
    u.second_harmonic_mm2 += bend * bend.transpose();
  }
  // A plain scale holds along each direction by itself: x and y off by independent amounts make a round part
  // oval, and a tilt does so in any direction.
  if (plane.covariance.size() == 0 && !plane.lens)
    u.second_harmonic_mm2 +=
        std::pow(plane.u_scale_ratio * circle.radius_mm, 2) / 2 * Eigen::Matrix2d::Identity();
  u.u_ovality_mm = 4 * std::sqrt(u.second_harmonic_mm2.trace() / 2);
  u.u_height_mm = std::abs(errors.height.diameter_mm);
  return u;
}

}  // namespace rondure
