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
// Breaks down: H below about 3 R; a rim that another part of the solid hides.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "rondure/profile/meridian.hpp"

namespace rondure {

// Where the meridian's radius and place are that this outline point shows: (along, across), across with its sign.
Eigen::Vector2d surface_from_outline(const Eigen::Vector2d& outline, const Eigen::Vector2d& outward,
                                     const Eigen::Vector3d& camera_mm);
Eigen::Vector2d face_from_outline(const Eigen::Vector2d& outline, double looks_along, double rim_radius_mm,
                                  const Eigen::Vector3d& camera_mm);

// The outline as a camera infinitely far away would show it; same frame and order as given. `camera_mm`: in that
// frame, third coordinate above the plane through the axis.
std::vector<OutlinePoint> seen_from_afar(const std::vector<OutlinePoint>& outline, const MeridianAxis& axis,
                                         const Eigen::Vector3d& camera_mm, double step_mm);

}  // namespace rondure
