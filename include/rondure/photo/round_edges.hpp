// Finds the round edges of a photograph and places them to a fraction of a pixel.
#pragma once
#include <optional>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct EdgeOptions {
  std::optional<PixelPoint> near;  // only the round edges around this point
  bool linear_light = false;       // the picture's values are proportional to light (no sRGB curve)
  double min_diameter_px = 16;
};

// One round edge: points in order round it, in the part plane, with their standard uncertainty.
struct RoundEdge {
  std::vector<MeasuredPoint> points;    // mm
  std::vector<PixelPoint> pixels;       // the same points in the picture
  Circle rough_px;                      // in pixels, y DOWN, for drawing and sorting
  bool dark_inside = true;
  double blur_px = 0;                   // Gaussian sigma of the edge
  double clipped_share = 0;             // share of the bright side at full scale
  double u_edge_offset_mm = 0;          // per edge (radius)
  std::vector<Warning> warnings;
};

// All round edges, largest first. Errors: kNoRoundEdge.
Result<std::vector<RoundEdge>> find_round_edges(const Picture& picture, const MeasuringPlane& plane,
                                                const EdgeOptions& options = {});

}  // namespace rondure
