// The outline in which a camera sees an upright solid of revolution standing over a plane.
//
// In coordinates of the plane z = 0 (lens undone) a horizontal circle (c, R) at height z is seen, exactly, as the
// circle with centre n + s (c - n) and radius s R, s = H / (H - z), from a camera at (n, H): a central projection
// of parallel planes. The straight wall between two heights is therefore seen as the convex hull of two circles.
// Lengths mm.
#pragma once
#include <Eigen/Core>
#include <array>
#include <optional>
#include <vector>

#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

// The camera's centre over the plane.
struct CameraPlace {
  Eigen::Vector2d foot = Eigen::Vector2d::Zero();  // n
  double height_mm = 0;                            // H
  // A horizontal circle at height z is seen in the plane as a circle: so much larger, and there.
  double scale_at(double z_mm) const { return height_mm / (height_mm - z_mm); }
  Eigen::Vector2d seen_at(const Eigen::Vector2d& center, double z_mm) const {
    return foot + scale_at(z_mm) * (center - foot);
  }
};

// Errors: kBadCalibration when the view does not tell how far the camera stood.
Result<CameraPlace> camera_place(const MeasuringPlane& plane);

// A straight round wall from `foot_mm` up to `top_mm`; equal heights: a flat disc there. A hole is seen through only
// where both its rims leave the view free: the circles' common part.
struct RoundWall {
  Eigen::Vector2d center = Eigen::Vector2d::Zero();
  double radius_mm = 0, foot_mm = 0, top_mm = 0;
  bool hole = false;
  // Out of round: second harmonic of the radius, its cosine and sine part, mm. Moves the outline to first order.
  Eigen::Vector2d oval = Eigen::Vector2d::Zero();
};

enum WallParameter { kCenterX, kCenterY, kRadius, kFoot, kTop, kOvalCosine, kOvalSine, kWallParameters };

struct OutlineDistance {
  double distance_mm = 0;  // signed, in the plane z = 0; positive outside
  Eigen::Vector2d normal;  // of the outline at its nearest point, outwards
  double scale = 1;        // s there: 1 on the foot, s(top) on the top, between them on the limb
  double top_share = 0;    // 0 foot, 1 top, between: limb
  std::array<double, kWallParameters> slope{};  // d distance / d parameter
};

class SeenOutline {
public:
  SeenOutline(const CameraPlace& camera, const RoundWall& wall);
  double distance_mm(const Eigen::Vector2d& at) const;
  OutlineDistance nearest(const Eigen::Vector2d& at) const;
  // The point of the outline whose outward normal has this direction (any of the limb's).
  Eigen::Vector2d point(double normal_rad) const;
  bool foot_is_seen() const { return !one_disc_; }

private:
  // Plain numbers: this is asked for every edge point of every wall that is tried.
  struct Near {
    double distance_mm, normal_x, normal_y, top_share;
  };
  static Near near_disc(double dx, double dy, double radius, double top_share);
  Near near(double x, double y) const;
  double scale_at(const Near& n) const { return (1 - n.top_share) * foot_scale_ + n.top_share * top_scale_; }

  CameraPlace camera_;
  RoundWall wall_;
  double foot_scale_ = 1, top_scale_ = 1;
  Eigen::Vector2d foot_center_, top_center_, along_;
  double foot_radius_ = 0, top_radius_ = 0, apart_ = 0, sine_ = 0, cosine_ = 1;
  bool one_disc_ = true;  // the top hides the foot
};

// Where an outline with point(normal_rad) in the plane lies in the picture: 360 points, without those behind the camera.
template <class Outline>
std::vector<PixelPoint> pixels_of(const Outline& outline, const MeasuringPlane& plane) {
  std::vector<PixelPoint> pixels;
  for (int k = 0; k < 360; ++k)
    if (const auto px = pixel_from_part(plane, PartPoint::from(outline.point(rad(k))))) pixels.push_back(*px);
  return pixels;
}

}  // namespace rondure
