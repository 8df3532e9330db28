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

inline SeenOutline::Near SeenOutline::near_disc(double dx, double dy, double radius, double top_share) {
  const double r = std::sqrt(dx * dx + dy * dy);
  return r > 0 ? Near{r - radius, dx / r, dy / r, top_share} : Near{-radius, 1, 0, top_share};
}

inline SeenOutline::Near SeenOutline::near(double x, double y) const {
  const double foot_x = x - foot_center_.x(), foot_y = y - foot_center_.y();
  const double top_x = x - top_center_.x(), top_y = y - top_center_.y();
  if (wall_.hole) {
    const Near foot = near_disc(foot_x, foot_y, foot_radius_, 0),
               top = near_disc(top_x, top_y, top_radius_, 1);
    return top.distance_mm >= foot.distance_mm ? top : foot;
  }
  if (one_disc_)
    return top_radius_ >= foot_radius_ ? near_disc(top_x, top_y, top_radius_, 1)
                                       : near_disc(foot_x, foot_y, foot_radius_, 0);
  const double ux = along_.x(), uy = along_.y();
  const double along = foot_x * ux + foot_y * uy, across = foot_y * ux - foot_x * uy;
  const double side = across < 0 ? -1 : 1, out = side * across;
  // Along the common tangent, from its point on the foot circle.
  const double k = -sine_ * out + cosine_ * along, length = cosine_ * apart_;
  if (k <= 0) return near_disc(foot_x, foot_y, foot_radius_, 0);
  if (k >= length) return near_disc(top_x, top_y, top_radius_, 1);
  return {cosine_ * out + sine_ * along - foot_radius_, sine_ * ux - cosine_ * side * uy,
          sine_ * uy + cosine_ * side * ux, k / length};
}

double SeenOutline::distance_mm(const Eigen::Vector2d& at) const {
  const Near n = near(at.x(), at.y());
  const double cosine = n.normal_x * n.normal_x - n.normal_y * n.normal_y, sine = 2 * n.normal_x * n.normal_y;
  return n.distance_mm - scale_at(n) * (cosine * wall_.oval.x() + sine * wall_.oval.y());
}

OutlineDistance SeenOutline::nearest(const Eigen::Vector2d& at) const {
  const Near n = near(at.x(), at.y());
  OutlineDistance out;
  out.normal = {n.normal_x, n.normal_y}, out.top_share = n.top_share;
  out.scale = scale_at(n);
  const Eigen::Vector2d doubled(n.normal_x * n.normal_x - n.normal_y * n.normal_y,
                                2 * n.normal_x * n.normal_y);
  out.distance_mm = n.distance_mm - out.scale * doubled.dot(wall_.oval);
  // By the envelope theorem only the support of the outline in the direction of its normal moves it.
  out.slope[kCenterX] = -out.scale * n.normal_x;
  out.slope[kCenterY] = -out.scale * n.normal_y;
  out.slope[kRadius] = -out.scale;
  const double reach = out.normal.dot(wall_.center - camera_.foot) + wall_.radius_mm;
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
