// Outlines that only a coarser picture shows: on speckled ground, drawn in pieces by glints, or seen as an ellipse by a tilted
// camera. For pictures in which no board helps to tell a part by its light (solid_part.hpp does that).
#pragma once
#include <vector>

#include "photo/edge/edge_band.hpp"
#include "photo/edge/round_candidates.hpp"

namespace rondure {

// `found` in the picture reduced by `fine_reduction`, and what the picture shows over most of a circle when it is reduced twice as
// much, and again, down to 300 px; largest first.
std::vector<RoundCandidate> with_coarser_looks(const Picture& picture, const MeasuringPlane& plane,
                                               int fine_reduction, double min_diameter_px,
                                               std::vector<RoundCandidate> found);

// Has the edge looked for near the points that the candidate was seen by: beside them a speckled ground or relief has edges as
// strong. `circle`: along which the band was cut, part plane.
void expect_where_seen(EdgeBand& band, const MeasuringPlane& plane, const RoundCandidate& candidate,
                       const Circle& circle);

}  // namespace rondure
