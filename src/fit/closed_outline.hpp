// The usual case of the reference circles: points all round, nearly on a circle. There the centre lies near
// the least-squares centre, and few points can be contacts.
//
// With all distances from c0 in [d, d + z] and no gap wider than 2 a (a <= 20 deg, z <= 0.2 d), every centre
// with a zone of at most z, or with an inscribed radius of at least d inside the hull, lies within 1.2 z /
// cos a of c0 (derived: a point within the angle a ahead of the shift comes nearer by t cos a - t^2/(2 d),
// one behind recedes by t cos a). For centres there, a point that lies behind its neighbour in a sector of
// width w by more than the shift times the turn of the directions (1.5 (w + z shift/d^2)) is never the
// nearest (or farthest) one.
#pragma once
#include <optional>
#include <span>

#include "extremes.hpp"

namespace rondure {

struct ClosedOutline {
  Eigen::Vector2d center{0, 0};  // relative to the cloud's reference
  double reach = 0;              // the sought centre lies within this of it
  Cloud inner, outer;            // every point that can be a contact
};

// No centre farther than this from `center`, about which the distances lie in [nearest, nearest + zone], has
// a zone as narrow; infinite where the condition does not hold.
double reach_of_better_centres(const Cloud& cloud, const Eigen::Vector2d& center, double nearest,
                               double zone);

// Nothing where the condition does not hold.
std::optional<ClosedOutline> closed_outline(std::span<const PartPoint> points, const CenteredCloud& cloud);

}  // namespace rondure
