// What is not known of a view's camera, as steps of one standard deviation each: the pose by itself, and the lens,
// which all views share.
//
// The covariance of a measuring plane (homography h and lens l) is split: l moves by a step of the camera file's
// covariance and h follows by its regression on l in this view; what is left of h is the view's own.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "photo/plane/plane_map.hpp"
#include "photo/solid/seen_outline.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

// The camera a step away either side.
struct CameraStep {
  PlaneMap up, down;  // z = 0
  CameraPlace up_place, down_place;
  int lens_step = -1;   // number of the shared step; -1: the view's own
  double factor = 0.5;  // of what lies between the two
};

// `lens_covariance`: of fx fy cx cy k1 k2 p1 p2 k3, the camera file's; empty: each view's lens counts as its own.
std::vector<CameraStep> camera_steps(const MeasuringPlane& board, const Eigen::MatrixXd& lens_covariance);

// The camera's centre of any plane at height 0 (also of moved ones), by its projection's null space.
CameraPlace place_of_projection(const MeasuringPlane& board, double focal_px);

// How far off the outline the picture's point comes to lie by one step, mm; 0 where a step loses it.
double step_slope(const CameraStep& step, const RoundWall& wall, const Eigen::Vector2d& pixel);

}  // namespace rondure
