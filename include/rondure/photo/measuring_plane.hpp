// The measuring plane of one photograph: how a pixel becomes a point of the part plane in mm, and what that
// map's own uncertainty does to a size measured with it.
//
// Model: part plane (x right, y UP, mm) --homography--> ideal pixel --lens--> pixel of the picture.
//   ideal ~ H (x, y, 1);  with normalised n = ((u - cx)/fx, (v - cy)/fy), r2 = |n|^2:
//   n' = n (1 + k1 r2 + k2 r2^2 + k3 r2^3) + (2 p1 nx ny + p2 (r2 + 2 nx^2), p1 (r2 + 2 ny^2) + 2 p2 nx ny)
// (Brown 1966 / Conrady 1919, the five-term form in common use). The inverse is solved to 1e-12 of the focal
// length.
#pragma once
#include <Eigen/Core>
#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/photo/tone_curve.hpp"

namespace rondure {

// Pinhole with radial and tangential distortion, the common five-term model. px.
struct Lens {
  double focal_x_px = 0, focal_y_px = 0, center_x_px = 0, center_y_px = 0;
  std::array<double, 5> distortion{};  // k1 k2 p1 p2 k3
};

Eigen::Vector2d picture_from_ideal(const Lens& lens, const Eigen::Vector2d& ideal_px);
// Errors: kBadCalibration where the lens model folds over (far outside the region the calibration views
// covered).
Result<Eigen::Vector2d> ideal_from_picture(const Lens& lens, const Eigen::Vector2d& picture_px);

// What the edges of a board in the measured picture say of the camera's tone curve.
struct BoardEdges {
  double dark_light = 0, bright_light = 0;  // levels beside its edges, with the plane's tone curve
  double blur_px = 0;                       // Gaussian sigma, pixel box included
  double growth_px = 0, u_growth_px = 0;    // black growing outwards, ink and tone together
  double px_per_mm = 0;
  std::optional<Estimate> ink_mm;  // what the ink alone does, when known
  // Shape of the edges' profile with the plane's tone curve, of the contrast: coefficients of He2 phi
  // (skewness, positive towards black) and He3 phi (overshoot). Mean of the four directions, in which a
  // lens's own skewness cancels.
  double skew = 0, u_skew = 0, peak = 0;
};

// The squares of a board in the measured picture: what lies under a part that lies on it.
struct BoardSquares {
  int columns = 0, rows = 0;  // inner corners
  double square_mm = 0;
};

// The map alone. Part plane: origin at the board's first inner corner (lower left as seen in the picture), x to the right
// and y UP as seen in the picture; mm.
struct PlaneGeometry {
  int width_px = 0, height_px = 0;  // the picture it belongs to
  std::optional<Lens> lens;         // absent: no distortion, plain homography or scale
  // Homography: part mm (x, y, 1) -> undistorted pixel, at the height of the measured edge.
  Eigen::Matrix3d ideal_from_part = Eigen::Matrix3d::Identity();
  // Homography of the board's own plane (height 0); equal to ideal_from_part when height_mm is 0.
  Eigen::Matrix3d ideal_from_board = Eigen::Matrix3d::Identity();
  double height_mm = 0;     // of the measured edge above the board, towards the camera
  std::string description;  // for the record
};

// How stored samples become light in the picture, and where its edges lie.
struct PlaneTone {
  ToneCurve tone;
  bool tone_known = false;  // learned from the board; false = sRGB is an assumption
  // Edges of the picture lie this far on the dark side of the true edge, px (exposure makes dark things
  // smaller and holes larger); to be taken off every edge. Known from two or more pins.
  double edge_offset_px = 0;
  double u_edge_offset_px = 0;  // standard uncertainty of the edge's place (tone curve), px per edge
};

struct MeasuringPlane;

// How well the map is known.
struct PlaneDoubt {
  double u_height_mm = 0;    // standard uncertainty of the edge's height
  double u_scale_ratio = 0;  // relative standard uncertainty of sizes from the board's own print
  // Covariance of (h11 h12 h13 h21 h22 h23 h31 h32 of ideal_from_board with h33 = 1, then fx fy cx cy k1 k2
  // p1 p2 k3 when there is a lens): 17 x 17 or 8 x 8; empty = not known, or a plane of plain scale.
  Eigen::MatrixXd covariance;
  double focal_hint_px = 0;  // focal length taken on trust for a height without a lens; 0 = none
  double u_focal_hint_ratio = 0;
  // No lens was given and the board's lines are bent: the same plane with a lens as those lines ask for.
  // Nothing is measured with it; how differently it measures goes into the uncertainty.
  std::shared_ptr<const MeasuringPlane> bent;
};

// What the board told, where it is in the picture.
struct BoardSeen {
  double board_blur_px = 0;  // Gaussian sigma of the board's edges, pixel box included; 0 = no board
  std::optional<BoardEdges> board_edges;  // only when the board is in the measured picture itself; not stored
  std::optional<BoardSquares> board_squares;  // likewise
  std::vector<PixelPoint> outline;            // outer corners of the board, in order round it; empty = none
  std::vector<Warning> warnings;
};

struct MeasuringPlane : PlaneGeometry, PlaneTone, PlaneDoubt, BoardSeen {};

// A square-on view of known scale: 1 px is 1 / px_per_mm everywhere; the part plane's origin is the picture's
// lower left.
MeasuringPlane plane_of_scale(int width_px, int height_px, double px_per_mm, double u_px_per_mm);

// Errors: kBadCalibration beyond the plane's horizon or where the lens model folds over.
Result<PartPoint> part_from_pixel(const PlaneGeometry& plane, const PixelPoint& pixel);
// Points behind the camera have no picture: kBadCalibration.
Result<PixelPoint> pixel_from_part(const PlaneGeometry& plane, const PartPoint& part);
// d(part mm) / d(pixel), 2 x 2, at a pixel: turns a covariance in px into one in mm. Exact derivative.
Result<Eigen::Matrix2d> part_per_pixel(const PlaneGeometry& plane, const PixelPoint& pixel);
// d(pixel) / d(part mm) at a part point.
Result<Eigen::Matrix2d> pixel_per_part(const PlaneGeometry& plane, const PartPoint& part);

// The same plane with the measured edge `height_mm` above the board (negative: below). Needs the focal
// length: from the lens, else from the homography itself when its tilt fixes the focal length to 10 %, else
// from `focal_px` (u relative). Errors: kBadCalibration when the focal length cannot be told.
struct FocalHint {
  double focal_px = 0, u_ratio = 0.05;
};
Result<MeasuringPlane> at_height(const MeasuringPlane& plane, double height_mm, double u_height_mm,
                                 std::optional<FocalHint> hint = {});

// What the plane's uncertainty does to a circle measured at that place; standard uncertainties in mm of the
// DIAMETER.
struct PlaneUncertainty {
  double u_pose_mm = 0;         // board's place and lens, from the covariance; a lens left out (`bent`)
  double u_scale_mm = 0;        // the board's print, or the given scale
  double u_height_mm = 0;       // the edge's height
  double u_edge_offset_mm = 0;  // both edges moving in or out together
  double u_ovality_mm = 0;      // false ovality from pose and lens (major minus minor diameter)
  // Covariance of the radius's second harmonic (cosine and sine part), mm^2, from pose and lens.
  Eigen::Matrix2d second_harmonic_mm2 = Eigen::Matrix2d::Zero();
  double total_mm() const;  // root sum of squares of the first four
};
PlaneUncertainty u_from_plane(const MeasuringPlane& plane, const Circle& circle);

}  // namespace rondure
