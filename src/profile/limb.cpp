#include "rondure/profile/limb.hpp"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "in_axis.hpp"

namespace rondure {

Eigen::Vector2d surface_from_outline(const Eigen::Vector2d& outline, const Eigen::Vector2d& outward,
                                     const SideCamera& camera) {
  const Eigen::Vector3d flat(outline.x(), outline.y(), 0),
      from = camera.turned(flat), v = camera.turned(camera.at_mm() - flat),
      along = camera.turned({-outward.y(), outward.x(), 0}), n = along.cross(v);
  const double below = v.y() * n.z() - v.z() * n.y();
  if (std::abs(below) < 1e-12) return outline;
  const Eigen::Vector3d s = from + (from.z() * n.y() - from.y() * n.z()) / below * v;
  return {s.x(), std::copysign(std::hypot(s.y(), s.z()), outline.y())};
}

namespace {

// Is the camera behind the face that this outline point is of? Told at the point, not at the
// ring of a fillet's centres, which lies a fillet's radius farther in.
bool is_behind(const Eigen::Vector2d& outline, double looks_along, const SideCamera& camera) {
  const Eigen::Vector3d flat(outline.x(), outline.y(), 0);
  return looks_along * camera.turned(flat - camera.at_mm()).x() > 0;
}

// Where a line towards the camera meets the cylinder of the rim: twice; the nearer one is seen where the camera is behind
// the face. In the frame turned by the tilt.
Eigen::Vector2d on_rim(const Eigen::Vector3d& from, const Eigen::Vector3d& towards, bool behind,
                       double rim_radius_mm, const SideCamera& camera) {
  const Eigen::Vector3d p = camera.turned(from), v = camera.turned(towards);
  const double a = v.tail<2>().squaredNorm(), b = p.tail<2>().dot(v.tail<2>()),
               left = b * b - a * (p.tail<2>().squaredNorm() - rim_radius_mm * rim_radius_mm);
  const double l = (-b + (behind ? 1 : -1) * std::sqrt(std::max(0.0, left))) / a;
  return (p + l * v).head<2>();
}

}  // namespace

Eigen::Vector2d face_from_outline(const Eigen::Vector2d& outline, double looks_along, double rim_radius_mm,
                                  const SideCamera& camera) {
  const Eigen::Vector3d flat(outline.x(), outline.y(), 0);
  return on_rim(flat, camera.at_mm() - flat, is_behind(outline, looks_along, camera), rim_radius_mm, camera);
}

Eigen::Vector2d rounded_face_from_outline(const Eigen::Vector2d& outline, const Eigen::Vector2d& outward,
                                          double rim_radius_mm, double fillet_mm, const SideCamera& camera) {
  const double looks = outward.x() > 0 ? 1 : -1;
  if (!(fillet_mm > 0)) return face_from_outline(outline, looks, rim_radius_mm, camera);
  const Eigen::Vector3d flat(outline.x(), outline.y(), 0), towards = camera.at_mm() - flat;
  const Eigen::Vector3d normal =
      Eigen::Vector3d(outward.x() * towards.z(), outward.y() * towards.z(), -outward.dot(towards.head<2>()))
          .normalized();
  return on_rim(flat - fillet_mm * normal, towards, is_behind(outline, looks, camera), rim_radius_mm,
                camera) +
         Eigen::Vector2d(looks * fillet_mm, 0);
}

std::vector<OutlinePoint> seen_from_afar(const std::vector<OutlinePoint>& outline, const MeridianAxis& axis,
                                         const Eigen::Vector3d& camera_mm, double tilt_rad, double step_mm) {
  const InAxis a = in_axis(outline, axis, camera_mm, tilt_rad, step_mm);
  const SideCamera camera(a.camera_mm, tilt_rad);
  const std::vector<bool> tip = on_a_tip(a, tilt_rad, step_mm);
  std::vector<OutlinePoint> out;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    if (tip[i] || a.unclear[i]) continue;
    const Eigen::Vector2d body =
        a.is_face[i] ? a.face_place(i, camera) : surface_from_outline(a.at[i], a.normal[i], camera);
    OutlinePoint p = outline[i];
    p.at = axis.origin + (a.pivot_mm + body.x()) * axis.along + body.y() * axis.radial();
    if (a.is_face[i]) p.outward = std::copysign(1.0, a.normal[i].x()) * axis.along;
    out.push_back(p);
  }
  return out;
}

}  // namespace rondure
