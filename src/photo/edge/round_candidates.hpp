// Circles of the part plane that the edge chains of a picture support.
#pragma once
#include <vector>

#include "photo/edge/edge_chains.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

struct RoundCandidate {
  Circle circle;  // part plane
  bool dark_inside = true;
  double coverage_deg = 0;  // sum of the angles at which the edge is seen
  double rms_px = 0;        // of the supporting points, full px
  double px_per_mm = 0;
  int reduction = 1;             // of the picture in which it was seen
  std::vector<PixelPoint> seen;  // the points that support it, full px
};

struct RoundSearch {
  std::vector<RoundCandidate> found;  // largest first
  int chains = 0, arcs = 0;           // what there was to choose from
  std::vector<Circle> arc_circles;    // of single arcs, part plane, longest first
};

// Arcs are cut from the chains where one circle no longer fits, longest first each proposes its circle, all
// edge points that lie on it with the right direction join, and the circle stays if they cover enough of it.
RoundSearch find_round_candidates(const EdgeChains& chains, const MeasuringPlane& plane,
                                  double min_diameter_px);

}  // namespace rondure
