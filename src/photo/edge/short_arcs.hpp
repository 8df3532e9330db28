// Arcs of 17 degrees and more of which nothing else of the circle is in sight.
#pragma once
#include <vector>

#include "photo/edge/edge_chains.hpp"
#include "photo/edge/round_candidates.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

struct ShortArc {
  RoundCandidate candidate;
  double from_rad = 0, to_rad = 0;  // of what is seen, counter-clockwise in the part plane; to > from
};

// Chains are split where they turn at once (corners with other edges), cut where one circle no longer fits, and
// neighbours that one circle fits are joined again. An arc stays when it stands out of its chord by several pixels and
// a circle misses none of its points by much: then it is no straight edge, and hardly anything but a circle.
// Longest first.
std::vector<ShortArc> find_short_arcs(const EdgeChains& chains, const MeasuringPlane& plane);

}  // namespace rondure
