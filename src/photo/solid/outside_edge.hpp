// The outside as a measured edge: its fitted outline placed once more, a joined shadow left out, and what is doubtful
// of it.
#pragma once
#include <optional>

#include "photo/solid/outside_search.hpp"
#include "photo/solid/traced_walls.hpp"

namespace rondure {

// By judgement; checked by the errors over u in tests/data/studies/solid_scenes.txt.
inline constexpr double kWeak_ratio =
    0.02;  // of the size: standard uncertainty where the outline may be another line
Warning weak_outline();
// An inner edge that is not told to be a bore's, a hub's or a groove's.
Warning edge_unnamed();

// Standard uncertainty of the radius of an edge that is softer or sharper than the camera draws one line. Softer: shade on the
// ground, a low wall or a chamfer runs into it unresolved. Two half steps w apart widen a blur by w / 2, and the middle, where
// the edge is then placed, lies w / 2 off the part's own: so far either way, evenly likely. Sharper: a line beside it, narrower
// than the blur, cuts its slope short by as much. 0 between 1 / 1.15 and 1.15 of the camera's blur.
double u_of_unlike_blur_mm(const RoundEdge& edge, double camera_blur_px);

// It goes into the outside's uncertainty; where it is much of it, that is said, and true comes back.
bool allow_for_blur(RoundEdge& edge, double camera_blur_px);

// `doubt_mm`: of the radius, of a larger outline that is not ruled out. `told_mm`: the part's height, if it was told.
RoundEdge outside_edge(const SeenScene& scene, const TracedWalls& traced, const WallFit& found,
                       const RayEdges& rays, double doubt_mm, const std::optional<Estimate>& told_mm);

}  // namespace rondure
