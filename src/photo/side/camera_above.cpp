#include <Eigen/LU>

#include "rondure/photo/side_outline.hpp"

namespace rondure {

// Heights z above the board map by [p1 p2 p3 z + p4]; the camera's centre C solves [p1 p2 p3] C = -p4.
std::optional<Eigen::Vector3d> camera_above(const MeasuringPlane& plane) {
  const auto base = at_height(plane, 0, 0), raised = at_height(plane, 1, 0);
  if (!base || !raised) return std::nullopt;
  const Eigen::Matrix3d low = base->ideal_from_part;
  const Eigen::Matrix3d high = raised->ideal_from_part * (low(0, 0) / raised->ideal_from_part(0, 0));
  Eigen::Matrix3d p = low;
  p.col(2) = high.col(2) - low.col(2);
  if (std::abs(p.determinant()) < 1e-30) return std::nullopt;
  const Eigen::Vector3d c = p.inverse() * -low.col(2);
  if (!c.allFinite() || !(c.z() > plane.height_mm)) return std::nullopt;
  return Eigen::Vector3d(c.x(), c.y(), c.z() - plane.height_mm);
}

}  // namespace rondure
