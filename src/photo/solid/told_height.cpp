#include "photo/solid/told_height.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "photo/edge/edge_circle.hpp"

namespace rondure {
namespace {

// A told height is off by more than both: 1 mm, so that only a gross slip is said, and 6 standard uncertainties.
// By judgement.
constexpr double kContradicts_mm = 1, kContradictsInU = 6;

}  // namespace

void say_where_walls_stand(const SolidScene& seen, const Estimate& told, std::vector<RoundEdge>& edges) {
  for (const RoundEdge& solid : seen.edges) {
    if (!solid.wall || !solid.wall->height_seen || solid.coverage_deg < 300) continue;
    const SeenWall& wall = *solid.wall;
    const bool flat = told.value == 0;
    const double face_mm = wall.top_mm + (flat ? 0 : kChamfer_mm);
    const double u_mm = std::hypot(wall.u_top_mm, told.u, flat ? 0 : kUChamfer_mm);
    if (std::abs(face_mm - told.value) <= std::max(kContradicts_mm, kContradictsInU * u_mm)) continue;
    const auto edge = std::ranges::find_if(edges, [&](const RoundEdge& e) {
      const Circle c = simple_circle(e);
      return (c.center.vec() - wall.center.vec()).norm() < c.radius_mm;
    });
    if (edge == edges.end()) continue;
    const double other_mm = std::abs(simple_circle(*edge).radius_mm - wall.radius_mm);
    edge->u_edge_offset_mm = std::hypot(edge->u_edge_offset_mm, other_mm);
    if (flat)
      edge->warnings.push_back(
          {"not-flat",
           fmt::format("told to lie flat (--height 0), but a wall about {:.1f} mm high is seen: if so, it "
                       "measures {:.2f} mm; leave --height out, or give its height",
                       wall.top_mm, 2 * wall.radius_mm)});
    else
      edge->warnings.push_back(
          {"height-unlikely",
           fmt::format("told to stand {:.4g} mm above the board, but a wall about {:.1f} mm high is seen: if "
                       "so, it measures {:.2f} mm, not what stands here; measure the height again, or leave "
                       "--height out",
                       told.value, wall.top_mm, 2 * wall.radius_mm)});
  }
}

}  // namespace rondure
