#include "photo/views/view_doubts.hpp"

#include <Eigen/LU>
#include <cmath>

#include "photo/plane/plane_parameters.hpp"
#include "rondure/core/covariance.hpp"

namespace rondure {
namespace {

constexpr double kLeastAxis = 1e-12;  // of a difference of covariances: below lies rounding

double focal_of(const MeasuringPlane& board) {
  if (board.lens) return board.lens->focal_x_px;
  if (board.focal_hint_px > 0) return board.focal_hint_px;
  return focal_from_homography(board.ideal_from_board, (board.width_px - 1) / 2.0,
                               (board.height_px - 1) / 2.0)
      .value_or(0);
}

CameraStep step_between(const MeasuringPlane& up, const MeasuringPlane& down, int lens_step) {
  return {PlaneMap(up),
          PlaneMap(down),
          place_of_projection(up, focal_of(up)),
          place_of_projection(down, focal_of(down)),
          lens_step,
          0.5};
}

}  // namespace

CameraPlace place_of_projection(const MeasuringPlane& board, double focal_px) {
  const Eigen::Matrix3d &h = board.ideal_from_board, raised = homography_at_height(board, focal_px, 1);
  Eigen::Matrix3d m;
  m << h.col(0), h.col(1), raised.col(2) - h.col(2);
  const Eigen::Vector3d c = -m.inverse() * h.col(2);
  return {c.head<2>(), c.z()};
}

std::vector<CameraStep> camera_steps(const MeasuringPlane& board, const Eigen::MatrixXd& lens_covariance) {
  std::vector<CameraStep> steps;
  const Eigen::MatrixXd& c = board.covariance;
  const auto add = [&](const Eigen::VectorXd& step, int lens_step) {
    const MeasuringPlane up = moved_plane(board, step, 0), down = moved_plane(board, -step, 0);
    if (focal_of(up) > 0 && focal_of(down) > 0) steps.push_back(step_between(up, down, lens_step));
  };
  const bool shared = board.lens && lens_covariance.rows() == kLensParameters &&
                      c.rows() == kHomographyParameters + kLensParameters;
  if (shared) {
    const Eigen::MatrixXd hl = c.topRightCorner(kHomographyParameters, kLensParameters),
                          follow =
                              hl * covariance_inverse(c.bottomRightCorner(kLensParameters, kLensParameters));
    int number = 0;
    for (const Eigen::VectorXd& lens : covariance_steps(lens_covariance, kLeastAxis)) {
      Eigen::VectorXd step(c.rows());
      step << follow * lens, lens;
      add(step, number++);
    }
    const Eigen::MatrixXd own =
        c.topLeftCorner(kHomographyParameters, kHomographyParameters) - follow * hl.transpose();
    for (const Eigen::VectorXd& h : covariance_steps(own, kLeastAxis)) {
      Eigen::VectorXd step = Eigen::VectorXd::Zero(c.rows());
      step.head<kHomographyParameters>() = h;
      add(step, -1);
    }
  } else {
    for (const Eigen::VectorXd& step : covariance_steps(board)) add(step, -1);
  }
  // A focal length taken on trust, and a lens left out.
  if (board.focal_hint_px > 0) {
    MeasuringPlane up = board, down = board;
    up.focal_hint_px *= 1 + board.u_focal_hint_ratio, down.focal_hint_px *= 1 - board.u_focal_hint_ratio;
    steps.push_back(step_between(up, down, -1));
  }
  if (board.bent) {
    const MeasuringPlane& bent = *board.bent;
    steps.push_back(step_between(bent, board, -1));
    steps.back().factor = 1;
    for (const Eigen::VectorXd& step : covariance_steps(bent))
      steps.push_back(step_between(moved_plane(bent, step, 0), moved_plane(bent, -step, 0), -1));
  }
  return steps;
}

double step_slope(const CameraStep& step, const RoundWall& wall, const Eigen::Vector2d& pixel) {
  Eigen::Vector2d up, down;
  Eigen::Matrix2d slope;
  if (!step.up.part(pixel, up, slope) || !step.down.part(pixel, down, slope)) return 0;
  const double d = step.factor * (SeenOutline(step.up_place, wall).distance_mm(up) -
                                  SeenOutline(step.down_place, wall).distance_mm(down));
  return std::isfinite(d) ? d : 0;
}

}  // namespace rondure
