// The measuring plane from a chessboard in the very picture, or in a view taken from the same place.
//
// Every side of every square is placed as a whole (16 to 250 px of edge each) and one plane is fitted to all
// of them: with a camera, six numbers of pose and the lens held by its covariance; without, a homography of
// eight numbers and no distortion. Four more say how far black has grown at the edges (ink and tone), so that
// the board's outer edges can be used: at its middle, how that changes over the board (a tone curve that is not
// the assumed one moves edges by their light, which falls off), and by direction. Inner edges alternate, so
// these hardly touch the plane. Sides that are covered, shadowed or clipped are left out.
// Accuracy (simulated 1280 x 960 pictures, tilt 2 to 9 deg, JPEG 75 to 95): plane 0.0015 px rms on the board,
// radius of a part beside it 0.004 to 0.007 px rms. Covariance includes JPEG's correlated noise by chi^2 /
// degrees of freedom.
#pragma once
#include <optional>

#include "rondure/photo/board.hpp"
#include "rondure/photo/camera.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

struct BoardPlaneOptions {
  double u_board_ratio = 0.001;    // standard uncertainty of the print's scale
  std::optional<Estimate> ink_mm;  // known growth of the print's black edges; else the camera file's
  bool linear_light = false;
};

struct BoardPlane {
  MeasuringPlane plane;
  FoundBoard board;
  int sides = 0, sides_used = 0;
  double rms_px = 0, chi = 0;
  double growth_px = 0, u_growth_px = 0;            // black growing outwards at the tone curve used
  double px_per_mm = 0, blur_px = 0, tilt_deg = 0;  // tilt: 0 when neither camera nor homography tells
};

// Errors: kNoBoard, kBoardMismatch, kCalibrationMismatch, kBadCalibration.
Result<BoardPlane> fit_board_plane(const Picture& picture, const BoardSize& board,
                                   const std::optional<CameraCalibration>& camera,
                                   const BoardPlaneOptions& options = {});
// The plane alone.
Result<MeasuringPlane> plane_from_board(const Picture& picture, const BoardSize& board,
                                        const std::optional<CameraCalibration>& camera,
                                        const BoardPlaneOptions& options = {});

}  // namespace rondure
