// What is seen of a bore through both its rims: the common part of two circles, near rim and far rim.
#pragma once
#include <optional>

#include "photo/solid/ring_roles.hpp"
#include "photo/solid/wall_fit.hpp"

namespace rondure {

// Smaller ones have too few pixels round them for what lies within; by judgement.
inline constexpr double kLeastRadius_px = 4;  // of a ring or a hole
// The scenes' bores are up to 0.74 (tests/bench/solid_scenes/choose.py); beyond lies the outside's own chamfer.
inline constexpr double kWidestBore_ratio = 0.8;  // of the outside's radius
inline constexpr double kShadedGround_ratio =
    0.4;  // of the light beside the part: ground seen in a hole, in whatever shade

class HoleSearch {
public:
  // `rays` weigh otherwise while a hole is looked for, and stand as before then.
  HoleSearch(const CameraPlace& camera, const PartSeen& part, const RingRoles& roles, RayEdges& rays)
      : camera_(camera), part_(part), roles_(roles), rays_(rays) {}

  static bool is_seen(const WallFit& hole);
  // From the ring i, or, `within`, without its edges from the next one inside; `top_mm`: height of its upper rim. Without
  // edges where there is none near.
  WallFit in_ring(std::size_t i, double top_mm, bool within);
  // The edges of a hole whose rim is broken have the break outside them, not the face.
  bool is_within_break(const WallFit& hole) const;
  // No ring proposes it: where near and far rim lie so far apart that what is seen through both is no circle, the best of
  // all holes from the face to the ground about the part's axis, as bright within as the ground.
  std::optional<WallFit> about_axis(double face_light, double light_beside) const;

private:
  std::vector<double> likely_radii() const;
  static bool ground_is_within(const WallFit& hole, double face_light, double light_beside);

  const CameraPlace& camera_;
  const PartSeen& part_;
  const RingRoles& roles_;
  RayEdges& rays_;
};

}  // namespace rondure
