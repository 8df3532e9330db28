#include <Eigen/Geometry>
#include <cmath>

#include "render/scene.hpp"

namespace rondure::render {

Camera Camera::square_on(int width_px, int height_px, double px_per_mm, Eigen::Vector2d at) {
  Lens lens;
  lens.focal_x_px = lens.focal_y_px = 1e6;
  lens.center_x_px = 0.5 * (width_px - 1);
  lens.center_y_px = 0.5 * (height_px - 1);
  return looking_at(width_px, height_px, lens, at, 1e6 / px_per_mm, 0, 0);
}

Camera Camera::looking_at(int width_px, int height_px, const Lens& lens, Eigen::Vector2d at,
                          double distance_mm, double tilt_deg, double towards_deg, double turn_deg) {
  Camera camera;
  camera.width_px = width_px;
  camera.height_px = height_px;
  camera.lens = lens;
  // Straight down: camera x = board x, camera y = -board y, camera z = -board z.
  const Eigen::Matrix3d down = Eigen::Vector3d(1, -1, -1).asDiagonal();
  // The camera leans towards `towards`: turn the board about the horizontal axis at right angles to it.
  const Eigen::Vector3d axis(-std::sin(rad(towards_deg)), std::cos(rad(towards_deg)), 0);
  const Eigen::Matrix3d lean = Eigen::AngleAxisd(-rad(tilt_deg), axis).toRotationMatrix();
  const Eigen::Matrix3d turn = Eigen::AngleAxisd(rad(turn_deg), Eigen::Vector3d::UnitZ()).toRotationMatrix();
  camera.rotation = turn * down * lean;
  camera.translation_mm =
      Eigen::Vector3d(0, 0, distance_mm) - camera.rotation * Eigen::Vector3d(at.x(), at.y(), 0);
  return camera;
}

PixelPoint Camera::project(const Eigen::Vector3d& board_mm) const {
  const Eigen::Vector3d c = rotation * board_mm + translation_mm;
  const double x = c.x() / c.z(), y = c.y() / c.z(), r2 = x * x + y * y;
  const auto& [k1, k2, p1, p2, k3] = lens.distortion;
  const double radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3));
  const double xd = x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x);
  const double yd = y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y;
  return {lens.focal_x_px * xd + lens.center_x_px, lens.focal_y_px * yd + lens.center_y_px};
}

double Profile::at(double direction_rad, double* slope_mm_per_rad) const {
  double r = radius_mm, slope = 0;
  for (const Lobe& lobe : lobes) {
    const double a = lobe.upr * (direction_rad - rad(lobe.phase_deg));
    r += lobe.amplitude_mm * std::cos(a);
    slope -= lobe.upr * lobe.amplitude_mm * std::sin(a);
  }
  for (const Bump& bump : bumps) {
    const double half = 0.5 * bump.width_mm / radius_mm;
    const double d = std::remainder(direction_rad - rad(bump.at_deg), 2 * kPi);
    if (std::abs(d) >= half) continue;
    r += 0.5 * bump.height_mm * (1 + std::cos(kPi * d / half));
    slope -= 0.5 * bump.height_mm * kPi / half * std::sin(kPi * d / half);
  }
  if (slope_mm_per_rad) *slope_mm_per_rad = slope;
  return r;
}

double CameraCurve::value(double light) const {
  const double l = std::min(std::max(light, 0.0), 1.0);
  const double srgb = l <= 0.0031308 ? 12.92 * l : 1.055 * std::pow(l, 1 / 2.4) - 0.055;  // IEC 61966-2-1
  switch (kind) {
    case Kind::kLinear:
      return l;
    case Kind::kSrgb:
      return srgb;
    case Kind::kGamma:
      return std::pow(l, 1 / parameter);
    case Kind::kSCurve:
      return srgb - parameter * srgb * (1 - srgb) * (1 - 2 * srgb);
    case Kind::kShoulder:
      return std::pow(1.3 * l / (l + 0.3), 1 / 1.7);
    case Kind::kSaturating:
      return std::sqrt(-std::expm1(-parameter * l) / -std::expm1(-parameter));
  }
  return l;
}

}  // namespace rondure::render
