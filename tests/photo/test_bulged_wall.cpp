// Crowned walls: the outline made here by brute force from the circles at 2000 heights, as the camera sees each of them.
#include <catch2/catch.hpp>
#include <cmath>

#include "photo/solid/bulged_wall.hpp"
#include "rondure/core/geometry.hpp"

using namespace rondure;

namespace {

const CameraPlace kOver{{0, 0}, 300};
const Eigen::Vector2d kStandsAt(45, 20);
constexpr double kMiddle_mm = 6.2, kHigh_mm = 6;

// The farthest place in each direction, of all circles; one edge a degree.
RayEdges seen_edges(double bulge_mm) {
  RayEdges rays;
  rays.px_per_mm = 15, rays.camera_blur_px = 1;
  rays.rays.resize(360);
  for (int k = 0; k < 360; ++k) {
    const Eigen::Vector2d n(std::cos(rad(k)), std::sin(rad(k)));
    RayEdge e;
    e.pixel.setZero();
    e.blur_px = 1, e.inside = 0.05, e.outside = 0.7, e.weight = 1, e.dark_inside = true;
    double most = -1e9;
    for (int h = 0; h <= 2000; ++h) {
      const double z = kHigh_mm * h / 2000, s = 300 / (300 - z), off = (z - kHigh_mm / 2) / (kHigh_mm / 2);
      const Eigen::Vector2d at = s * (kStandsAt + (kMiddle_mm - bulge_mm * off * off) * n);
      if (n.dot(at) > most) most = n.dot(at), e.at = at;
    }
    rays.rays[static_cast<std::size_t>(k)].push_back(e);
  }
  return rays;
}

// The straight wall that follows these edges best, its height to 0.3 mm told or not at all.
WallFit straight_wall(const RayEdges& rays, bool told) {
  WallShape shape;
  shape.top_mm = told ? kHigh_mm : 5, shape.u_top_mm = told ? 0.3 : 5, shape.oval = true;
  return fit_wall(rays, kOver, {{1.01 * kStandsAt, kMiddle_mm, 0.1}}, shape);
}

}  // namespace

TEST_CASE("bulged wall: middle, bulge and height of a crowned wall come out, height told and not",
          "[photo][solid]") {
  const bool told = GENERATE(true, false);
  const double bulge_mm = GENERATE(0.15, 0.3);
  const RayEdges rays = seen_edges(bulge_mm);
  const WallFit straight = straight_wall(rays, told);
  REQUIRE(straight.chosen.size() > 300);
  const auto found = rather_bulged(rays, kOver, straight);
  INFO("told " << told << ", bulge " << bulge_mm << "; straight: radius " << straight.wall.radius_mm
               << ", top " << straight.wall.top_mm);
  REQUIRE(found);
  CHECK(found->wall.radius_mm == Approx(kMiddle_mm).margin(0.02));
  CHECK(std::abs(found->bulge_mm - bulge_mm) < 3.5 * found->u_bulge_mm);
  CHECK(found->u_bulge_mm < 0.04);
  CHECK(found->wall.top_mm == Approx(kHigh_mm).margin(told ? 0.3 : 1.3));
  CHECK(found->wall.oval.norm() < 0.015);
  std::vector<RayEdge> moved;
  const WallFit fit = as_if_straight(*found, kOver, straight, rays.px_per_mm, moved);
  CHECK(fit.wall.radius_mm == found->wall.radius_mm);
  CHECK(fit.rms_px < 0.02);
  const SeenOutline outline(kOver, fit.wall);
  for (const ChosenEdge& c : fit.chosen) CHECK(std::abs(outline.distance_mm(c.edge->at)) < 0.02);
}

TEST_CASE("bulged wall: a straight one is not called crowned", "[photo][solid]") {
  const RayEdges rays = seen_edges(0);
  CHECK_FALSE(rather_bulged(rays, kOver, straight_wall(rays, GENERATE(true, false))));
}
