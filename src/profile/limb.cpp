#include "rondure/profile/limb.hpp"

#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

constexpr double kFaceFrom = 0.97;   // cosine between an end's outline and the axis
constexpr double kBridge_steps = 5;  // from a face's last point to its rim

}  // namespace

Eigen::Vector2d surface_from_outline(const Eigen::Vector2d& outline, const Eigen::Vector2d& outward,
                                     const Eigen::Vector3d& camera_mm) {
  const Eigen::Vector3d from(outline.x(), outline.y(), 0), v = camera_mm - from;
  const double H = camera_mm.z(), ny = outward.y() * H, nz = -(outward.x() * v.x() + outward.y() * v.y());
  const double below = v.y() * nz - H * ny;
  if (std::abs(below) < 1e-12) return outline;
  const double l = -outline.y() * nz / below;
  const Eigen::Vector3d s = from + l * v;
  return {s.x(), std::copysign(std::hypot(s.y(), s.z()), outline.y())};
}

Eigen::Vector2d face_from_outline(const Eigen::Vector2d& outline, double looks_along, double rim_radius_mm,
                                  const Eigen::Vector3d& camera_mm) {
  const double H = camera_mm.z(), X0 = camera_mm.x(), Y0 = camera_mm.y();
  const double side = looks_along * (outline.x() - X0) > 0 ? 1 : -1;
  double y = outline.y(), z = 0;
  for (int round = 0; round < 20; ++round) {
    z = side * std::sqrt(std::max(0.0, rim_radius_mm * rim_radius_mm - y * y));
    y = Y0 + (outline.y() - Y0) * (H - z) / H;
  }
  return {X0 + (outline.x() - X0) * (H - z) / H, y};
}

std::vector<OutlinePoint> seen_from_afar(const std::vector<OutlinePoint>& outline, const MeridianAxis& axis,
                                         const Eigen::Vector3d& camera_mm, double step_mm) {
  const int n = static_cast<int>(outline.size());
  const auto in_axis = [&](const Eigen::Vector2d& v) {
    return Eigen::Vector2d(axis.along.dot(v), axis.radial().dot(v));
  };
  const Eigen::Vector2d over = in_axis(camera_mm.head<2>() - axis.origin);
  const Eigen::Vector3d camera(over.x(), over.y(), camera_mm.z());
  std::vector<Eigen::Vector2d> at(outline.size()), normal(outline.size());
  std::vector<bool> is_face(outline.size());
  for (int i = 0; i < n; ++i) {
    at[i] = in_axis(outline[i].at - axis.origin), normal[i] = in_axis(outline[i].outward);
    is_face[i] = std::abs(normal[i].x()) > kFaceFrom;
  }
  std::vector<OutlinePoint> out = outline;
  // The rim of a face: the farthest from the axis along its run of points, and the next one beyond it.
  std::vector<double> rim(outline.size(), 0);
  for (int i = 0; i < n; ++i) {
    if (!is_face[i]) continue;
    for (const int way : {-1, 1})
      for (int k = 0, j = i; k < n; ++k) {
        const int next = (j + way + n) % n;
        if ((at[next] - at[j]).norm() > kBridge_steps * step_mm) break;
        rim[i] = std::max(rim[i], std::abs(at[next].y()));
        if (!is_face[next] || normal[next].x() * normal[i].x() < 0) break;
        j = next;
      }
    rim[i] = std::max(rim[i], std::abs(at[i].y()));
  }
  for (int i = 0; i < n; ++i) {
    const Eigen::Vector2d body = is_face[i] ? face_from_outline(at[i], normal[i].x(), rim[i], camera)
                                            : surface_from_outline(at[i], normal[i], camera);
    out[i].at = axis.origin + body.x() * axis.along + body.y() * axis.radial();
    if (is_face[i]) out[i].outward = std::copysign(1.0, normal[i].x()) * axis.along;
  }
  return out;
}

}  // namespace rondure
