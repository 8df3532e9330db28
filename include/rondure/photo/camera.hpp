// A camera as its calibration views show it: lens with covariance, and what the board told of ink and tone
// curve.
//
// Model: Lens of measuring_plane.hpp with square pixels (one focal length). Every side of every square of
// every view is one line observation (board_sides.hpp); poses, lens and one edge growth a view are estimated
// together by least squares (bundle adjustment, Ceres). k3 is estimated only when the views determine it and
// the fit gets clearly better. On a board that is not as it was drawn, the places of its lines and its bend are estimated too,
// under priors (warning "board-uneven" says how bad). Covariance: inverse normal matrix times the largest of 1, chi^2 / degrees
// of freedom and, on an uneven board, what the views taken as clusters show.
//
// Ink and tone (two causes move a black-white edge): delta_i = ink k_i + c sb_i over the views i, k_i =
// px/mm, sb_i = blur. Views at distances of 1 : 1.5 or more separate them; else u_ink_mm says that they do
// not.
//
// Accuracy on a perfect board: corners 0.001 px, focal length 0.001 %. A real print is not square and flat to
// 0.01 px: the residual shows it (chi well above 1) and the covariance grows with it.
#pragma once
#include <Eigen/Core>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/photo/board.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct CameraCalibration {
  int width_px = 0, height_px = 0;
  std::string make, model;  // EXIF, empty when the views did not say
  int orientation = 1;      // EXIF orientation of the views
  Lens lens;
  // Of fx fy cx cy k1 k2 p1 p2 k3.
  Eigen::Matrix<double, 9, 9> covariance = Eigen::Matrix<double, 9, 9>::Zero();
  std::optional<Estimate> ink_mm;  // growth of every black edge by the print, per edge
  ToneCurve tone;
  bool tone_known = false;       // learned from the views; false = sRGB taken
  double focal_u_ratio() const;  // relative standard uncertainty of the focal length
};

struct CalibrationView {
  std::string name;
  Picture picture;
};

struct ViewResult {
  std::string name;
  bool used = false;
  std::string why_not;  // when left out
  double rms_px = 0;    // of the edges' distances
  double tilt_deg = 0;  // between the board's normal and the line of sight
  double px_per_mm = 0, blur_px = 0;
  double growth_px = 0;  // delta: black growing outwards, ink and tone together
  int sides = 0, sides_used = 0;
  double distance_mm = 0;
};

struct CameraResult {
  CameraCalibration camera;
  std::vector<ViewResult> views;  // in the order given
  double rms_px = 0;              // of all edges used
  double chi = 0;                 // residual over what the pictures' noise explains; 1 = a perfect print
  int observations = 0;
  std::vector<Warning> warnings;  // "views-square-on", "views-leave-gaps", "view-left-out", "board-not-flat"
};

struct CameraOptions {
  bool linear_light = false;
  int threads = 0;  // 0 = all
  // Told, from any thread, how much of the work is done: 0 to 1, an estimate.
  std::function<void(double)> on_progress = {};
};

// Errors: kNoBoard (no view shows it), kBadCalibration (fewer than 3 usable views, views of different size or
// camera, no solution), kBoardMismatch (every view shows another board).
Result<CameraResult> calibrate_camera(const std::vector<CalibrationView>& views, const BoardSize& board,
                                      const CameraOptions& options = {});

// The lens for a picture of this camera; turned when the picture was held another way up.
// Errors: kCalibrationMismatch (another size, make or model) with both sides named.
Result<CameraCalibration> camera_for(const CameraCalibration& camera, const Picture& picture);

}  // namespace rondure
