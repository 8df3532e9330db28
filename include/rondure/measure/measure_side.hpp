// A part on its side, from picture to sizes: outline (side_outline.hpp), axis and its tilt, limb (limb.hpp),
// meridian, cut (side_profile.hpp).
//
// Round pieces of known diameter in the picture (reference_piece.hpp) say how much larger everything is than read,
// and how far edges lie from where they were placed: the outline is drawn out by the one and moved by the other
// before it is cut. u of a size without edges, and of the whole width's length, are theirs; between them
// the correlation is left out.
// Errors: those of the parts named.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/photo/reference_piece.hpp"
#include "rondure/photo/side_outline.hpp"
#include "rondure/profile/side_profile.hpp"

namespace rondure {

struct SideViewOptions {
  EdgeOptions edges;                  // linear_light, for the part's outline too
  std::vector<std::string> names;     // of the main pieces, left to right
  std::optional<double> axis_deg;     // the axis's direction in the picture
  std::optional<double> distance_mm;  // camera to the axis, where the plane does not tell it
  std::vector<ReferencePiece> references;
};

struct SideView {
  Meridian meridian;
  std::optional<Estimate> tilt_rad;
  SideProfile profile;
  SideOutline outline;
};

Result<SideView> measure_side(const Picture& picture, MeasuringPlane plane, const SideViewOptions& options);

}  // namespace rondure
