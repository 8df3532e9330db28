// The measuring plane of one photograph: how a pixel becomes a point of the part plane in mm, and what that map's own
// uncertainty does to a size measured with it.
#pragma once
#include <Eigen/Core>
#include <array>
#include <optional>
#include <string>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

// Pinhole with radial and tangential distortion, the common five-term model. px.
struct Lens {
  double focal_x_px = 0, focal_y_px = 0, center_x_px = 0, center_y_px = 0;
  std::array<double, 5> distortion{};  // k1 k2 p1 p2 k3
};

// Part plane: origin at the board's first inner corner, x to the right and y UP as seen in the picture; mm.
struct MeasuringPlane {
  int width_px = 0, height_px = 0;   // the picture it belongs to
  std::optional<Lens> lens;          // absent: no distortion, plain homography or scale
  Eigen::Matrix3d ideal_from_part;   // homography: part mm (x, y, 1) -> undistorted pixel
  double height_mm = 0;              // of the measured edge above the board, towards the camera
  double u_scale_ratio = 0;          // relative standard uncertainty of sizes from the board's own print
  double u_edge_offset_px = 0;       // standard uncertainty of the edge's place (tone curve), px per edge
  std::string description;           // for the record
};

}  // namespace rondure
