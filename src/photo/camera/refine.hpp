// Least squares behind the board: one plane, or a camera with all its views. The Ceres side lives in
// refine_*.cpp.
#pragma once
#include <Eigen/Core>
#include <array>
#include <optional>
#include <vector>

#include "photo/board/board_sides.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

using Vector6 = Eigen::Matrix<double, 6, 1>;
using Vector9 = Eigen::Matrix<double, 9, 1>;
using Matrix9 = Eigen::Matrix<double, 9, 9>;

Vector9 lens_vector(const Lens& lens);  // fx fy cx cy k1 k2 p1 p2 k3
Lens lens_from(const Vector9& v);

// Camera from board: rotation vector, then translation in mm.
Eigen::Matrix3d homography_of(const Vector6& pose, const Lens& lens);  // h33 = 1
// Pose whose homography is nearest to h.
Vector6 pose_from_homography(const Eigen::Matrix3d& h, const Lens& lens);

struct LensPrior {
  Vector9 mean;
  Matrix9 covariance;
};

struct PlaneFit {
  Eigen::Matrix3d h;         // ideal from board, h33 = 1
  std::optional<Lens> lens;  // as adjusted
  double growth_mm = 0, u_growth_mm = 0;
  Eigen::MatrixXd covariance;  // of (h 8, lens 9) or (h 8)
  double chi = 0, rms_px = 0;
  std::vector<double>
      residual_sd;       // largest of each side's two, in standard deviations; 0 for sides not used
  double robust_sd = 1;  // typical size of those
  bool converged = false;
};
// Fits to the used sides. `start` is H; with a lens the pose is fitted and the lens held by `prior`.
PlaneFit refine_plane(const std::vector<SideFit>& sides, const Eigen::Matrix3d& start,
                      const std::optional<Lens>& lens, const std::optional<LensPrior>& prior);

struct BundleView {
  Vector6 pose;
  double growth_mm = 0;
  std::vector<SideFit> sides;
  double rms_px = 0, chi = 0;       // out
  std::vector<double> residual_sd;  // out
};
// The board as it is: every side of it may lie off its place in the print, along its normal, and the board may be bent
// (a quadric through its middle). The same in all views.
struct BoardShape {
  double uneven_mm = 0;  // root mean square of the sides' places
  double bend_mm = 0;    // largest height of a corner over the plane through the middle
  double length_mm = 0;  // longest way across
};
struct BundleFit {
  Vector9 lens;
  Matrix9 covariance = Matrix9::Zero();
  double chi = 0, rms_px = 0;
  double ssq = 0;  // of the standardised residuals
  int observations = 0;
  bool converged = false;
  std::optional<BoardShape> board;  // where the edges miss by clearly more than their noise
};
// Bundle adjustment of all views; `lens` is start and result. k3 stays as it is unless `free_k3`. Where the edges miss by
// more than noise explains the board's own shape is estimated with the rest: places of the sides ~ N(0, their own root
// mean square), bend ~ N(0, kBend_ratio of the board's length).
BundleFit refine_camera(std::vector<BundleView>& views, const Vector9& lens, bool free_k3,
                        bool with_covariance, int threads);

}  // namespace rondure
