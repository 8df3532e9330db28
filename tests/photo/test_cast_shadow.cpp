// A part and its cast shadow, as edges drawn by hand: a round wall's outline, and the shadow's hull on one side.
#include <catch2/catch.hpp>
#include <cmath>

#include "photo/solid/cast_shadow.hpp"
#include "rondure/core/geometry.hpp"

using namespace rondure;

namespace {

constexpr int kCastRays = 360;
constexpr double kScale = 11, kCameraBlur_px = 0.8, kTop_mm = 1.0;
const CameraPlace kCastCamera{{46, -57}, 190};
const RoundWall kTruePart{{5, -41}, 8.35, 0, kTop_mm};

RayEdge edge_at(const Eigen::Vector2d& at) {
  RayEdge edge;
  edge.at = at;
  edge.blur_px = kCameraBlur_px, edge.inside = 0.1, edge.outside = 0.5, edge.weight = 1,
  edge.dark_inside = true;
  return edge;
}

// Where the ray leaves the outline, and where it leaves the shadow if that is farther out; nearer than 3 px the two are one.
RayEdges edges_of(const RoundWall& part, const Eigen::Vector2d& by) {
  const SeenOutline outline(kCastCamera, part);
  const Eigen::Vector2d middle = kCastCamera.seen_at(part.center, 0.5 * part.top_mm);
  RayEdges rays;
  rays.rays.resize(kCastRays);
  rays.px_per_mm = kScale, rays.camera_blur_px = kCameraBlur_px;
  for (int k = 0; k < kCastRays; ++k) {
    const Eigen::Vector2d ray(std::cos(rad(k)), std::sin(rad(k)));
    const auto leaves = [&](const auto& distance) {
      double in = 0, out = 3 * part.radius_mm;
      for (int i = 0; i < 60; ++i)
        (distance(Eigen::Vector2d(middle + 0.5 * (in + out) * ray)) < 0 ? in : out) = 0.5 * (in + out);
      return in;
    };
    const double of_part = leaves([&](const Eigen::Vector2d& at) { return outline.distance_mm(at); });
    const double of_shadow = leaves([&](const Eigen::Vector2d& at) {
      const Eigen::Vector2d from = at - part.center;
      const double along = by.norm() > 0 ? std::clamp(from.dot(by) / by.squaredNorm(), 0.0, 1.0) : 0;
      return (from - along * by).norm() - part.radius_mm;
    });
    auto& edges = rays.rays[static_cast<std::size_t>(k)];
    const double beyond_px = kScale * (of_shadow - of_part);
    if (beyond_px < 0 || beyond_px > 3) edges.push_back(edge_at(middle + of_part * ray));
    if (beyond_px > 0) edges.push_back(edge_at(middle + of_shadow * ray));
  }
  return rays;
}

WallFit found_in(const RayEdges& rays) {
  const WallShape told{0, kTop_mm, 0.3, false, false, true};
  return fit_wall(rays, kCastCamera, {{kTruePart.center, 1.01 * kTruePart.radius_mm, 0.1}}, told);
}

}  // namespace

TEST_CASE("cast shadow: the part's outline within it is found", "[photo][solid]") {
  const double direction_deg = GENERATE(-30, 90, 240);
  const Eigen::Vector2d by =
      0.4 * Eigen::Vector2d(std::cos(rad(direction_deg)), std::sin(rad(direction_deg)));
  const RayEdges rays = edges_of(kTruePart, by);
  const WallFit found = found_in(rays);
  REQUIRE_FALSE(found.chosen.empty());
  INFO("shadow towards " << direction_deg << " degrees, one outline's radius " << found.wall.radius_mm);
  CHECK(found.wall.radius_mm - kTruePart.radius_mm > 0.04);  // drawn outwards, if nothing were done
  const auto both = part_and_shadow(rays, kCastCamera, found);
  REQUIRE(both);
  CHECK(std::abs(both->part.wall.radius_mm - kTruePart.radius_mm) < 0.01);
  CHECK(both->part.wall.oval.norm() < 0.01);
  CHECK((both->by_mm - by).norm() < 0.1);
}

TEST_CASE("cast shadow: none where there is none, be the part oval", "[photo][solid]") {
  RoundWall wall = kTruePart;
  wall.oval = GENERATE(Eigen::Vector2d(0, 0), Eigen::Vector2d(0.05, 0), Eigen::Vector2d(-0.03, 0.05));
  const RayEdges rays = edges_of(wall, Eigen::Vector2d::Zero());
  CHECK_FALSE(part_and_shadow(rays, kCastCamera, found_in(rays)));
}
