// Which of a part's rings is its outside: the outermost whose seen outline the edges bear out.
#pragma once
#include <optional>
#include <vector>

#include "photo/solid/ground_beside.hpp"
#include "photo/solid/wall_fit.hpp"

namespace rondure {

// What all steps look at.
struct SeenScene {
  const Picture& picture;
  const MeasuringPlane& board;  // z = 0
  const std::vector<float>& light_table;
  CameraPlace camera;
};

// One set of rings of about one size, tried as a flat disc at the told height and as a standing wall.
struct OutsideTrial {
  std::vector<WallStart> from;
  RayEdges rays;
  WallFit disc, wall;
  bool around = false;  // found about a ring that was taken for the outside: no edge as placed need be it
  double doubt_mm = 0;  // the radius of a larger outline that is half borne out, beyond this one's
  const WallFit& better() const { return wall.score > disc.score ? wall : disc; }
  double score() const { return better().score; }
};

// Share of the rays; set looking at seeds 1 and 2 of tests/bench/solid_scenes, checked on seeds 14, 16, 33 and 34. A
// score of 0.72 outweighs a gap of 0.28 in the cover.
inline constexpr double kLeastScore = 0.62, kLeastCover = 0.80;  // of an outline that the edges bear out
inline bool borne_out(const WallFit& fit) {
  return (fit.score >= kLeastScore && fit.cover >= kLeastCover) || (fit.score >= 0.72 && fit.cover >= 0.72);
}

OutsideTrial try_outside(const SeenScene& scene, std::vector<WallStart> from, double told_mm,
                         const WallShape& wall);

// A larger outline round a fit that the edges may bear out, the likeliest.
std::optional<WallStart> further_out(const SeenScene& scene, const WallFit& fit);

Beside ground_beside(const SeenScene& scene, const OutsideTrial& trial);

// A ring of a part, in the plane of the told height.
struct FoundRing {
  Eigen::Vector2d center = Eigen::Vector2d::Zero();
  double radius_mm = 0, coverage_deg = 0;
};

// Of one part's rings, the largest first, and of what lies further out: the outermost that the edges bear out; else
// the best of all. Larger outlines that are half borne out, or rings found there, go into `doubt_mm`.
OutsideTrial find_outside(const SeenScene& scene, const std::vector<FoundRing>& rings, double told_mm,
                          const WallShape& wall);

// What was found has no ground beside it, or a larger outline round it, so it may be the rim of a hole or of a hub: the
// best borne-out outline about it, further out than find_outside looks, that has ground beside it or shows its wall; else
// the best that is one clean line, if less borne out on textured ground or in shade. `rings` that lie further out still go
// into `doubt_mm`.
std::optional<OutsideTrial> outside_around(const SeenScene& scene, const OutsideTrial& rim,
                                           const std::vector<FoundRing>& rings, double told_mm,
                                           const WallShape& wall);

}  // namespace rondure
