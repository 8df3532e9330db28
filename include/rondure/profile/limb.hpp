// The outline of a solid of revolution seen from a finite distance, and back to its meridian. Exact.
//
// Frame: along the axis, across it in the picture's plane, towards the camera; origin on the axis. The camera is at
// (X0, Y0, H), the outline (X, Y) lies in the plane through the axis. Derived:
//   Surfaces. The plane through the camera and the outline's tangent touches the solid. Its normal is
//   N = (n_x H, n_y H, -n . (P - Q)), n the outline's normal, P - Q = (X0 - X, Y0 - Y, H); it points from the axis to
//   where it touches, S = Q + l (P - Q) with S_y N_z = S_z N_y. Radius there = |(S_y, S_z)|, place S_x. A cylinder
//   comes out by the known factor R = Y sqrt(1 - (R/H)^2), a sphere's outline by the same one.
//   Faces. The outline of an end is its rim, the half nearer to the camera where the camera does not look onto the
//   face, else the other: (X, Y) = (X0, Y0) + ((x, y) - (X0, Y0)) H / (H - z), z = +-sqrt(R^2 - y^2), R the rim's
//   radius: a face bows by about (x - X0) R / H.
//   Faces that run into a fillet. The fillet is a ball rolled round the ring of its centres, as large as the face: the
//   centre lies on the line of sight moved inwards by the ball's radius along N.
// Axis tilted out of the picture's plane (by the tilt, about the outline's middle; positive: the right end lies nearer to
// the camera): the same two laws in a frame turned by the tilt; nothing is approximated. A flat end then bows by about
// R |tilt + (X0 - x) / H|, which is how the tilt is found.
// Breaks down: H below about 3 R; a rim that another part of the solid hides; tilts beyond 6 degrees.
#pragma once
#include <Eigen/Core>
#include <cmath>
#include <optional>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/profile/meridian.hpp"

namespace rondure {

// Where the camera stands in the frame of the axis, and how far the axis rises towards it.
class SideCamera {
public:
  // `at_mm`: along, across, above the picture's plane through the axis.
  SideCamera(const Eigen::Vector3d& at_mm, double tilt_rad = 0)
      : at_mm_(at_mm), cos_(std::cos(tilt_rad)), sin_(std::sin(tilt_rad)) {}
  const Eigen::Vector3d& at_mm() const { return at_mm_; }
  // Turned about the picture's direction across the axis, so that the tilted axis lies along x.
  Eigen::Vector3d turned(const Eigen::Vector3d& v) const {
    return {cos_ * v.x() + sin_ * v.z(), v.y(), -sin_ * v.x() + cos_ * v.z()};
  }

private:
  Eigen::Vector3d at_mm_;
  double cos_, sin_;
};

// Where the meridian's radius and place are that this outline point shows: (along, across), across with its sign.
Eigen::Vector2d surface_from_outline(const Eigen::Vector2d& outline, const Eigen::Vector2d& outward,
                                     const SideCamera& camera);
Eigen::Vector2d face_from_outline(const Eigen::Vector2d& outline, double looks_along, double rim_radius_mm,
                                  const SideCamera& camera);
// The same where the face runs into a fillet of that radius, `rim_radius_mm` that of the face; 0 = a corner.
Eigen::Vector2d rounded_face_from_outline(const Eigen::Vector2d& outline, const Eigen::Vector2d& outward,
                                          double rim_radius_mm, double fillet_mm, const SideCamera& camera);

// The outline as a camera infinitely far away would show it; same frame and order as given, less the
// points where a tilted face turns into its rim. `camera_mm`: in that frame, third coordinate above the plane
// through the axis.
std::vector<OutlinePoint> seen_from_afar(const std::vector<OutlinePoint>& outline, const MeridianAxis& axis,
                                         const Eigen::Vector3d& camera_mm, double tilt_rad, double step_mm);

// The tilt at which both end faces come out straight, and its standard uncertainty from the points' scatter. Absent: no
// two flat ends to tell it from, or ends that no tilt straightens (domed).
std::optional<Estimate> tilt_from_faces(const std::vector<OutlinePoint>& outline, const MeridianAxis& axis,
                                        const Eigen::Vector3d& camera_mm, double step_mm);

}  // namespace rondure
