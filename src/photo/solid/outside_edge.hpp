// The outside as a measured edge: its fitted outline placed once more, a joined shadow left out, and what is doubtful
// of it.
#pragma once
#include <optional>

#include "photo/solid/outside_search.hpp"
#include "photo/solid/traced_walls.hpp"

namespace rondure {

inline constexpr double kWeak_ratio =
    0.02;  // of the size: standard uncertainty where the outline may be another line
Warning weak_outline();

// `doubt_mm`: of the radius, of a larger outline that is not ruled out. `told_mm`: the part's height, if it was told.
RoundEdge outside_edge(const SeenScene& scene, const TracedWalls& traced, const WallFit& found,
                       const RayEdges& rays, double doubt_mm, const std::optional<Estimate>& told_mm);

}  // namespace rondure
