// The numbers a measuring plane hangs on (homography, lens, height), moved along their covariance.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <vector>

#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

// Nine entries of which the last is 1; two focal lengths, two of the middle, k1 k2 p1 p2 k3.
inline constexpr int kHomographyParameters = 8, kLensParameters = 9;

int plane_parameter_count(const MeasuringPlane& plane);  // 8 or 17
Eigen::VectorXd plane_parameters(const MeasuringPlane& plane);
// Columns s_j with sum s_j s_j^T = covariance, negligible ones left out; empty when there is none.
std::vector<Eigen::VectorXd> covariance_steps(const MeasuringPlane& plane);
// The plane with its parameters and its height moved; the homography at the edge's height follows.
MeasuringPlane moved_plane(const MeasuringPlane& plane, const Eigen::VectorXd& step, double height_step_mm);

// Focal length that makes the homography's columns those of a rotation, principal point in the picture's
// middle, square pixels; empty when the view does not say.
std::optional<double> focal_from_homography(const Eigen::Matrix3d& h, double center_x_px, double center_y_px);
// H of the plane `height_mm` nearer to the camera; `focal_px` only used without a lens.
Eigen::Matrix3d homography_at_height(const MeasuringPlane& plane, double focal_px, double height_mm);

}  // namespace rondure
