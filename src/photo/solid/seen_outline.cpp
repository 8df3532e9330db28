#include "photo/solid/seen_outline.hpp"

#include <cmath>

namespace rondure {

Result<CameraPlace> camera_place(const MeasuringPlane& plane) {
  // Two lines of sight through two heights meet in the camera.
  const auto board = at_height(plane, 0, 0), raised = at_height(plane, 10, 0);
  if (!board) return board.error();
  if (!raised) return raised.error();
  const double w = plane.width_px, h = plane.height_px;
  Eigen::Vector2d low[2], climb[2];
  const PixelPoint pixels[2] = {{0.25 * w, 0.3 * h}, {0.75 * w, 0.7 * h}};
  for (int i = 0; i < 2; ++i) {
    const auto q = part_from_pixel(*board, pixels[i]), r = part_from_pixel(*raised, pixels[i]);
    if (!q) return q.error();
    if (!r) return r.error();
    low[i] = q->vec();
    climb[i] = (r->vec() - q->vec()) / 10;
  }
  const Eigen::Vector2d apart = low[1] - low[0], closing = climb[0] - climb[1];
  CameraPlace place;
  place.height_mm = apart.dot(closing) / closing.squaredNorm();
  if (!(place.height_mm > 0) || !std::isfinite(place.height_mm))
    return Error{ErrorCode::kBadCalibration, "this view does not show how far away the camera stood"};
  place.foot = low[0] + place.height_mm * climb[0];
  return place;
}

SeenOutline::SeenOutline(const CameraPlace& camera, const RoundWall& wall) : camera_(camera), wall_(wall) {
  foot_scale_ = camera.scale_at(wall.foot_mm);
  top_scale_ = camera.scale_at(wall.top_mm);
  foot_center_ = camera.foot + foot_scale_ * (wall.center - camera.foot);
  top_center_ = camera.foot + top_scale_ * (wall.center - camera.foot);
  foot_radius_ = foot_scale_ * wall.radius_mm;
  top_radius_ = top_scale_ * wall.radius_mm;
  apart_ = (top_center_ - foot_center_).norm();
  one_disc_ = apart_ <= std::abs(top_radius_ - foot_radius_);
  if (one_disc_) return;
  along_ = (top_center_ - foot_center_) / apart_;
  sine_ = (foot_radius_ - top_radius_) / apart_;
  cosine_ = std::sqrt(1 - sine_ * sine_);
}

SeenOutline::Near SeenOutline::near(const Eigen::Vector2d& at) const {
  const auto disc = [&](const Eigen::Vector2d& center, double radius, double top_share) {
    const Eigen::Vector2d d = at - center;
    const double r = d.norm();
    const Eigen::Vector2d normal = r > 0 ? Eigen::Vector2d(d / r) : Eigen::Vector2d(1, 0);
    return Near{r - radius, normal, top_share};
  };
  if (wall_.hole) {
    const Near foot = disc(foot_center_, foot_radius_, 0), top = disc(top_center_, top_radius_, 1);
    return top.distance_mm >= foot.distance_mm ? top : foot;
  }
  if (one_disc_)
    return top_radius_ >= foot_radius_ ? disc(top_center_, top_radius_, 1)
                                       : disc(foot_center_, foot_radius_, 0);
  const Eigen::Vector2d d = at - foot_center_, across(-along_.y(), along_.x());
  const double y = d.dot(along_), side = d.dot(across) < 0 ? -1 : 1, x = side * d.dot(across);
  // Along the common tangent, from its point on the foot circle.
  const double k = -sine_ * x + cosine_ * y, length = cosine_ * apart_;
  if (k <= 0) return disc(foot_center_, foot_radius_, 0);
  if (k >= length) return disc(top_center_, top_radius_, 1);
  return {cosine_ * x + sine_ * y - foot_radius_, cosine_ * side * across + sine_ * along_, k / length};
}

double SeenOutline::distance_mm(const Eigen::Vector2d& at) const {
  const Near n = near(at);
  return n.distance_mm - scale_at(n) * twice(n.normal).dot(wall_.oval);
}

OutlineDistance SeenOutline::nearest(const Eigen::Vector2d& at) const {
  const Near n = near(at);
  OutlineDistance out;
  out.normal = n.normal, out.top_share = n.top_share;
  out.scale = scale_at(n);
  const Eigen::Vector2d doubled = twice(n.normal);
  out.distance_mm = n.distance_mm - out.scale * doubled.dot(wall_.oval);
  // By the envelope theorem only the support of the outline in the direction of its normal moves it.
  out.slope[kCenterX] = -out.scale * n.normal.x();
  out.slope[kCenterY] = -out.scale * n.normal.y();
  out.slope[kRadius] = -out.scale;
  const double reach = n.normal.dot(wall_.center - camera_.foot) + wall_.radius_mm;
  out.slope[kFoot] = -(1 - n.top_share) * foot_scale_ * foot_scale_ / camera_.height_mm * reach;
  out.slope[kTop] = -n.top_share * top_scale_ * top_scale_ / camera_.height_mm * reach;
  out.slope[kOvalCosine] = -out.scale * doubled.x(), out.slope[kOvalSine] = -out.scale * doubled.y();
  return out;
}

Eigen::Vector2d SeenOutline::point(double normal_rad) const {
  const Eigen::Vector2d n(std::cos(normal_rad), std::sin(normal_rad));
  const double foot = n.dot(foot_center_) + foot_radius_, top = n.dot(top_center_) + top_radius_;
  return (foot > top) != wall_.hole ? Eigen::Vector2d(foot_center_ + foot_radius_ * n)
                                    : Eigen::Vector2d(top_center_ + top_radius_ * n);
}

}  // namespace rondure
