// The outline of a part seen from the side against light (or another even ground), to hundredths of a pixel.
//
// The picture is split into part and ground at the level that separates its light best (Otsu 1979, from
// memory); the one part that does not touch the border gives the outline, in steps of about 2 px. Each step is
// then placed by the same model as round edges (round_edges.hpp): a blurred step of light, fitted to the
// samples themselves with the tone curve undone. Pixels near another stretch of the outline (corners,
// grooves) are left out of a step; within about 3 blurs of a sharp corner points are missing or rounded off.
// A board in the picture is not the part: what lies within its outline is passed over, and so are
// round pieces that are named.
// Errors: kNoAnswer, with what was found and what was needed: nothing stands out, only things that the border
// cuts, two parts, a part too small.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct SideOutlinePoint {
  MeasuredPoint point;      // part plane, mm
  Eigen::Vector2d outward;  // unit normal in the part plane, away from the part
  PixelPoint pixel;
};

struct SideOutline {
  std::vector<SideOutlinePoint> points;  // in order round the part, counter-clockwise in the part plane
  double px_per_mm = 0, blur_px = 0;
  double light_inside = 0, light_outside = 0;  // 1 = full scale
  double clipped_share = 0;
  double u_edge_offset_mm = 0;  // of every edge outwards: tone curve and clipping
  std::vector<Warning> warnings;
};

// `passed_over`: round things that are not the part, px (y down).
Result<SideOutline> find_side_outline(const Picture& picture, const MeasuringPlane& plane,
                                      bool linear_light = false, const std::vector<Circle>& passed_over = {});

// Where the camera stood: part plane's x, y and its height above the plane, mm. Absent where the view does not tell
// (a plane of plain scale).
std::optional<Eigen::Vector3d> camera_above(const MeasuringPlane& plane);

}  // namespace rondure
