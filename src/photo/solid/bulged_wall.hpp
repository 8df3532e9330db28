// A wall crowned over its whole height (a barrel) or waisted (a spool), against the straight one that was fitted.
//
// Seen from above a barrel's ends draw back under its middle: its outline is that of a lower wall, and what is left over
// looks like an oval. Model: radius R - b t^2, t = -1 at the foot, 1 at the top; the support of the seen outline in the
// direction n is the largest, over the height, of n.f + s (n.(c - f) + R - b t^2 + oval), f the camera's foot point,
// s = H / (H - z). Same edges, weights and priors as of the straight wall, b within its own prior. Lengths mm.
// Breaks down where the wall hardly shows: b is then its prior's, and nothing is told.
#pragma once
#include <optional>

#include "photo/solid/wall_fit.hpp"

namespace rondure {

struct BulgedWall {
  RoundWall wall;  // radius: at half height
  double bulge_mm = 0, u_bulge_mm = 0;
  double better_chi2 = 0;  // than the straight wall, priors included, 12 neighbouring rays as one
};

// None where the fit does not settle.
std::optional<BulgedWall> fit_bulged(const RayEdges& rays, const CameraPlace& camera,
                                     const WallFit& straight);

// The bulged wall where it is clearly the better of the two.
std::optional<BulgedWall> rather_bulged(const RayEdges& rays, const CameraPlace& camera,
                                        const WallFit& straight);

// The bulged wall as a straight one of its middle's radius: its edges moved out to where they would then be seen (kept in
// `moved`). Half of what it says otherwise than the straight wall did is its standard uncertainty.
WallFit as_if_straight(const BulgedWall& bulged, const CameraPlace& camera, const WallFit& straight,
                       double px_per_mm, std::vector<RayEdge>& moved);

std::vector<PixelPoint> outline_of(const BulgedWall& bulged, const CameraPlace& camera,
                                   const MeasuringPlane& board);

}  // namespace rondure
