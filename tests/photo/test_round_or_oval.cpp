// Round walls and oval ones, from edges with noise, seen obliquely.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "photo/solid/round_or_oval.hpp"

using namespace rondure;

namespace {

const CameraPlace kCamera{{0, 0}, 240};

RoundWall wall(const Eigen::Vector2d& oval) {
  RoundWall w;
  w.center = {30, 8}, w.radius_mm = 6, w.top_mm = 4.7, w.oval = oval;
  return w;
}

// Noise alike in twelve neighbouring rays, 0.1 px at 12 px/mm.
RayEdges edges_of(const RoundWall& w, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, 0.1);
  RayEdges edges;
  edges.px_per_mm = 12, edges.camera_blur_px = 1;
  const SeenOutline outline(kCamera, w);
  double off_px = 0;
  for (int k = 0; k < 360; ++k) {
    if (k % 12 == 0) off_px = noise(random);
    const double a = k * std::acos(-1.0) / 180;
    const Eigen::Vector2d n(std::cos(a), std::sin(a));
    const double bulge = (n.x() * n.x() - n.y() * n.y()) * w.oval.x() + 2 * n.x() * n.y() * w.oval.y();
    const Eigen::Vector2d at = outline.point(a) + (bulge + off_px / edges.px_per_mm) * n;
    edges.rays.push_back({RayEdge{at, Eigen::Vector2d::Zero(), 1, 0.05, 0.8, 1, true}});
  }
  return edges;
}

WallFit with_oval(const RayEdges& edges) {
  WallFit start;
  start.wall = wall({0, 0});
  start.shape = {0, 4.7, 0.3, false, false, true};
  return refit_wall(edges, kCamera, start);
}

}  // namespace

TEST_CASE("round or oval: the size of round walls scatters less than with a free oval", "[photo][solid]") {
  double free = 0, weighed = 0;
  for (unsigned seed = 1; seed <= 40; ++seed) {
    const RayEdges edges = edges_of(wall({0, 0}), seed);
    const WallFit oval = with_oval(edges), mixed = weighed_with_round(edges, kCamera, oval);
    REQUIRE(oval.chosen.size() > 300);
    free += std::pow(oval.wall.radius_mm - 6, 2), weighed += std::pow(mixed.wall.radius_mm - 6, 2);
    CHECK(mixed.wall.oval.norm() <= oval.wall.oval.norm());
  }
  CHECK(std::sqrt(weighed / free) < 0.8);
}

TEST_CASE("round or oval: an oval of 1 % stays what it is", "[photo][solid]") {
  const RayEdges edges = edges_of(wall({0.018, 0.024}), 3);
  const WallFit oval = with_oval(edges), mixed = weighed_with_round(edges, kCamera, oval);
  CHECK(mixed.wall.oval.norm() > 0.95 * oval.wall.oval.norm());
  CHECK(mixed.wall.radius_mm == Approx(oval.wall.radius_mm).margin(0.0005));
}
