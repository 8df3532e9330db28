// The part's outline and its cast shadow's, found together, where one fit runs along both.
//
// A lamp throws the part's top circle onto the ground as a circle of the same radius (a distant lamp), displaced by v: the
// shadow's outline is the convex hull of the foot circle and of that one. Beside a low part it is as sharp as the part
// and begins at it: a free oval and a free height then follow the part on the lit side and the shadow on the other,
// against what is known of them beforehand. Tried instead: a round part of the height that is expected, fitted to the
// edges without a sector, and a displaced circle that explains the edges outside it. Taken where the edges and the
// priors together are clearly better explained so. Breaks down where the shadow is hardly wider than the blur all
// along, or runs into another thing's. Lengths mm.
#pragma once
#include <optional>

#include "photo/solid/wall_fit.hpp"

namespace rondure {

struct PartAndShadow {
  RayEdges rays;  // the part's; without those that the shadow draws outwards, and its own
  WallFit part;   // oval free again; its edges point into `rays`
  Eigen::Vector2d by_mm = Eigen::Vector2d::Zero();  // v
};

// None where one outline explains the edges as well.
std::optional<PartAndShadow> part_and_shadow(const RayEdges& rays, const CameraPlace& camera,
                                             const WallFit& found);

}  // namespace rondure
