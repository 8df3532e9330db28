// A part's own dark wall as a line between its face and a shadow as light as the face.
//
// Round most of the outline the part is darker (or brighter) than what lies beside it. Where its shadow is as light as the part
// the wall between them shows as a thin dark line, with two edges: the far one is the part's outline and has the sign of the
// rest, the near one has the other sign, is as sharp, and lies within.
#pragma once
#include <optional>

#include "photo/solid/wall_fit.hpp"

namespace rondure {

// Of an outline's edges: with more of one sign the rest are texture's; with fewer neither sign is the part's. By judgement.
inline constexpr double kOneSignAlone = 0.95, kSignDecides = 0.6;

// Light or dark within, as most of the edges are; nothing where nearly all are, or too few.
std::optional<bool> sign_of_most(const WallFit& fit);
RayEdges of_sign(const RayEdges& rays, bool dark_inside);

struct OutlineOfOneSign {
  RayEdges rays;
  WallFit part;  // its edges point into `rays`
};
// The outline by the edges of that sign alone, where those of the other lie along the inside of it and it is the cleaner.
std::optional<OutlineOfOneSign> without_wall_line(const RayEdges& rays, const CameraPlace& camera,
                                                  const WallFit& found);

}  // namespace rondure
