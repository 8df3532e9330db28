// A photograph with what was found drawn over it, as a PNG file's bytes.
//
// Drawn so that nothing hangs on colour: the fitted outline is a thin line with a dark casing, edge points
// that carry the fit are dots, sectors that were left out are hatched bands; what is no edge of the part is a thin
// broken line. Large photographs are drawn
// reduced.
#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct OverlayOutline {
  std::vector<PixelPoint> outline;                // the fitted circle or ellipse, closed
  std::vector<PixelPoint> points;                 // edge points that carry the fit
  std::vector<std::vector<PixelPoint>> left_out;  // sectors that do not, as stretches of the outline
  std::string label;                              // ASCII: the drawing font has no other signs
  bool aside = false;  // no edge of the part: a thin broken line and its name, no points
};

std::vector<std::uint8_t> overlay_png(const Picture& picture, const std::vector<OverlayOutline>& outlines,
                                      int longest_side_px = 2400);

}  // namespace rondure
