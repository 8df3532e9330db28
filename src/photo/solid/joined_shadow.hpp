// A shadow's edge taken for the part's outline on one side.
//
// Beside a low part, or under a small lamp, a shadow is as sharp as the part and begins at it: the outline that leaves
// no edge outside then follows the part on the lit side and the shadow on the other, and misses both by what they
// differ. Left out a sector at a time, the rest tells where the part's own edge runs in the sector: it is the outline
// where the edges lie closer to it all round, those given up for it lying outside.
#pragma once
#include "photo/solid/wall_fit.hpp"

namespace rondure {

// `found`, or the better outline within it. Score as it was found.
WallFit without_joined_shadow(const RayEdges& rays, const CameraPlace& camera, const WallFit& found);

}  // namespace rondure
