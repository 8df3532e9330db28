// Rims of bores and hubs on a solid part, in scenes painted here from the same few discs that a camera would see.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>
#include <random>

#include "photo/solid/inner_edges.hpp"

using namespace rondure;

namespace {

constexpr double kFace_px_mm = 12, kMiddle_mm = 14;
constexpr int kFace_px = 336;

// Levels of light; the ground lies at z = 0, the part's axis at `axis`.
struct FaceScene {
  CameraPlace camera{{-20, -6}, 240};
  Eigen::Vector2d axis{kMiddle_mm, kMiddle_mm};
  double radius_mm = 8, height_mm = 6;
  double bore_mm = 0, bore_depth_mm = 0;  // radius; 0 = none; depth to the ground: seen through
  double hub_mm = 0, hub_height_mm = 0;   // radius, above the ground
  double ground = 0.8, face = 0.2, wall = 0.07, floor = 0.11;
  double bore_wall = -1;                            // below 0: as the wall
  double hub_face = -1;                             // below 0: as the face
  double groove_outer_mm = 0, groove_inner_mm = 0;  // radii; dark

  double scale(double z) const { return camera.height_mm / (camera.height_mm - z); }
  bool on(const Eigen::Vector2d& at, double z, double radius) const {
    return (at - camera.foot - scale(z) * (axis - camera.foot)).norm() < scale(z) * radius;
  }
  bool on_wall(const Eigen::Vector2d& at, double from, double to, double radius) const {
    RoundWall w;
    w.center = axis, w.radius_mm = radius, w.foot_mm = from, w.top_mm = to;
    return SeenOutline(camera, w).distance_mm(at) < 0;
  }
  double top() const { return hub_mm > 0 ? hub_height_mm : height_mm; }
  double light(const Eigen::Vector2d& at) const {
    if (bore_mm > 0 && on(at, top(), bore_mm)) {
      if (!on(at, top() - bore_depth_mm, bore_mm)) return bore_wall < 0 ? wall : bore_wall;
      return bore_depth_mm < top() ? floor : ground;
    }
    if (hub_mm > 0 && on(at, hub_height_mm, hub_mm)) return hub_face < 0 ? face : hub_face;
    if (hub_mm > 0 && on_wall(at, height_mm, hub_height_mm, hub_mm)) return wall;
    if (on(at, height_mm, groove_outer_mm) && !on(at, height_mm, groove_inner_mm)) return wall;
    if (on(at, height_mm, radius_mm)) return face;
    return on_wall(at, 0, height_mm, radius_mm) ? wall : ground;
  }
};

MeasuringPlane plane() {
  MeasuringPlane p = plane_of_scale(kFace_px, kFace_px, kFace_px_mm, 0);
  p.board_blur_px = 0.9;
  return p;
}

std::vector<float> table() {
  std::vector<float> t(256);
  for (int i = 0; i < 256; ++i) t[static_cast<std::size_t>(i)] = static_cast<float>(i) / 255;
  return t;
}

// Nine samples a pixel, a blur of 0.85 px and the noise of a good camera.
Picture painted(const FaceScene& scene, const MeasuringPlane& plane) {
  std::vector<double> light(kFace_px * kFace_px), blurred(light.size());
  for (int y = 0; y < kFace_px; ++y)
    for (int x = 0; x < kFace_px; ++x)
      for (const double dy : {-1.0 / 3, 0.0, 1.0 / 3})
        for (const double dx : {-1.0 / 3, 0.0, 1.0 / 3})
          light[static_cast<std::size_t>(y * kFace_px + x)] +=
              scene.light(part_from_pixel(plane, {x + dx, y + dy})->vec()) / 9;
  std::array<double, 9> kernel;
  for (int i = 0; i < 9; ++i)
    kernel[static_cast<std::size_t>(i)] = std::exp(-0.5 * (i - 4) * (i - 4) / (0.85 * 0.85));
  const double sum = std::accumulate(kernel.begin(), kernel.end(), 0.0);
  for (const int step : {1, kFace_px}) {
    for (int i = 0; i < kFace_px * kFace_px; ++i) {
      double value = 0;
      for (int k = -4; k <= 4; ++k)
        value += kernel[static_cast<std::size_t>(k + 4)] / sum *
                 light[static_cast<std::size_t>(std::clamp(i + k * step, 0, kFace_px * kFace_px - 1))];
      blurred[static_cast<std::size_t>(i)] = value;
    }
    light = blurred;
  }
  std::mt19937 random(11);
  std::normal_distribution<double> noise(0, 0.003);
  Picture picture;
  picture.width_px = picture.height_px = kFace_px;
  picture.bits = 8;
  for (const double l : light)
    picture.grey8.push_back(
        static_cast<std::uint8_t>(std::clamp(std::lround(255 * (l + noise(random))), 0L, 255L)));
  return picture;
}

std::vector<InnerEdge> named(const FaceScene& scene, double face_error_mm = 0, double u_face_mm = 0) {
  const MeasuringPlane p = plane();
  PartSeen part;
  part.center = scene.axis, part.radius_mm = scene.radius_mm;
  part.face_mm = scene.height_mm + face_error_mm, part.u_face_mm = u_face_mm;
  return find_inner_edges(painted(scene, p), p, table(), scene.camera, part).named;
}

const InnerEdge* find(const std::vector<InnerEdge>& edges, EdgeRole role) {
  const auto at =
      std::find_if(edges.begin(), edges.end(), [&](const InnerEdge& e) { return e.role == role; });
  return at == edges.end() ? nullptr : &*at;
}

double diameter_mm(const InnerEdge& edge) { return 2 * (edge.fit.wall.radius_mm + edge.shift_mm); }

}  // namespace

TEST_CASE("inner edges: a blind bore is measured at its upper rim, its floor's edge is no bore",
          "[photo][solid]") {
  FaceScene scene;
  scene.bore_mm = 2.5, scene.bore_depth_mm = 4;
  const auto edges = named(scene);
  const InnerEdge* bore = find(edges, EdgeRole::kBore);
  REQUIRE(bore);
  CHECK(diameter_mm(*bore) == Approx(5.0).margin(0.01));
  CHECK(bore->height_mm == Approx(6.0));
  CHECK(std::count_if(edges.begin(), edges.end(),
                      [](const InnerEdge& e) { return e.role == EdgeRole::kBore; }) == 1);
  const InnerEdge* foot = find(edges, EdgeRole::kFoot);
  REQUIRE(foot);
  CHECK(foot->height_mm == Approx(2.0).margin(0.3));
}

TEST_CASE("inner edges: a bore seen through bright ground, its wall as dark as the face", "[photo][solid]") {
  FaceScene scene;
  scene.bore_mm = 3, scene.bore_depth_mm = 6, scene.face = 0.1, scene.wall = 0.098;
  const auto edges = named(scene);
  const InnerEdge* bore = find(edges, EdgeRole::kBore);
  REQUIRE(bore);
  CHECK(bore->fit.wall.hole);
  CHECK(diameter_mm(*bore) == Approx(6.0).margin(0.015));
}

TEST_CASE("inner edges: a hub, its height, and the bore in it", "[photo][solid]") {
  FaceScene scene;
  scene.hub_mm = 4.5, scene.hub_height_mm = 8.5, scene.bore_mm = 1.5, scene.bore_depth_mm = 8.5;
  scene.camera.foot = {-40, 4};
  const auto edges = named(scene);
  const InnerEdge* hub = find(edges, EdgeRole::kHubStep);
  const InnerEdge* bore = find(edges, EdgeRole::kBore);
  REQUIRE(hub);
  REQUIRE(bore);
  CHECK(std::abs(diameter_mm(*hub) - 9.0) < 2 * hub->u_diameter_mm);
  CHECK(std::abs(hub->height_mm - 8.5) < 2 * hub->u_height_mm);
  // Height free: u(D) = D u(z) / H.
  CHECK(std::abs(diameter_mm(*bore) - 3.0) < 0.01 + 2 * bore->u_diameter_mm);
  CHECK(std::abs(bore->height_mm - 8.5) < 2 * bore->u_height_mm);
  CHECK(bore->u_diameter_mm < 0.07);  // of a break too narrow to be seen: 0.05
}

// The flange lies in the hub's shade: its light is not the light of the hub's face.
TEST_CASE("inner edges: a hub brighter than its flange is a hub, and the bore in it is a bore",
          "[photo][solid]") {
  FaceScene scene;
  scene.hub_mm = 5.5, scene.hub_height_mm = 9, scene.bore_mm = 3, scene.bore_depth_mm = 4;
  scene.hub_face = 0.3, scene.face = 0.2, scene.wall = 0.15, scene.floor = 0.2;
  scene.camera.foot = {-40, 4};
  const auto edges = named(scene);
  const InnerEdge* hub = find(edges, EdgeRole::kHubStep);
  REQUIRE(hub);
  CHECK(std::abs(diameter_mm(*hub) - 11.0) < 2 * hub->u_diameter_mm);
  const auto bores =
      std::count_if(edges.begin(), edges.end(), [](const InnerEdge& e) { return e.role == EdgeRole::kBore; });
  REQUIRE(bores == 1);
  CHECK(std::abs(diameter_mm(*find(edges, EdgeRole::kBore)) - 6.0) < 0.05);
}

TEST_CASE("inner edges: a plain hub brighter than its flange is a hub, no bore", "[photo][solid]") {
  FaceScene scene;
  scene.hub_mm = 5, scene.hub_height_mm = 9, scene.hub_face = 0.3, scene.wall = 0.15;
  scene.camera.foot = {-40, 4};
  const auto edges = named(scene);
  const InnerEdge* hub = find(edges, EdgeRole::kHubStep);
  REQUIRE(hub);
  CHECK(std::abs(diameter_mm(*hub) - 10.0) < 2 * hub->u_diameter_mm);
  CHECK_FALSE(find(edges, EdgeRole::kBore));
}

// Under the camera no place tells a height.
TEST_CASE(
    "inner edges: a dark ring on a face seen from above may be a groove or a hub's shade, and is neither",
    "[photo][solid]") {
  FaceScene scene;
  scene.groove_outer_mm = 4, scene.groove_inner_mm = 3.5, scene.camera.foot = scene.axis;
  const auto edges = named(scene);
  REQUIRE(edges.size() == 2);
  for (const InnerEdge& e : edges) CHECK(e.role == EdgeRole::kInnerEdge);
}

// 14 mm off the camera's foot point no place tells a height to better than 0.5 mm, but the two walls have one axis.
TEST_CASE("inner edges: a groove's two walls are as high, from nearly above", "[photo][solid]") {
  FaceScene scene;
  scene.groove_outer_mm = 4, scene.groove_inner_mm = 3.5, scene.camera.foot = {0, kMiddle_mm};
  const auto edges = named(scene);
  const InnerEdge* outer = find(edges, EdgeRole::kGrooveOuterWall);
  const InnerEdge* inner = find(edges, EdgeRole::kGrooveInnerWall);
  REQUIRE(outer);
  REQUIRE(inner);
  CHECK(diameter_mm(*outer) == Approx(8.0).margin(0.05));
  CHECK(diameter_mm(*inner) == Approx(7.0).margin(0.05));
}

TEST_CASE("inner edges: a low hub in its own shade is no groove, from nearly above", "[photo][solid]") {
  FaceScene scene;
  scene.hub_mm = 4.5, scene.hub_height_mm = 6.6, scene.groove_outer_mm = 4.9;
  scene.camera.foot = {0, kMiddle_mm};
  const auto edges = named(scene);
  REQUIRE_FALSE(edges.empty());
  for (const InnerEdge& e : edges) {
    CHECK(e.role != EdgeRole::kGrooveOuterWall);
    CHECK(e.role != EdgeRole::kGrooveInnerWall);
    CHECK(e.role != EdgeRole::kBore);
  }
}

// Of a face whose height is told by the picture, to 0.3 mm, and 0.35 mm too low.
TEST_CASE("inner edges: a groove in a face of unsure height is no hub", "[photo][solid]") {
  FaceScene scene;
  scene.groove_outer_mm = 4, scene.groove_inner_mm = 3.5, scene.camera.foot = {-40, 4};
  const auto edges = named(scene, -0.35, 0.3);
  CHECK_FALSE(find(edges, EdgeRole::kHubStep));
  CHECK_FALSE(find(edges, EdgeRole::kBore));
  const InnerEdge* inner = find(edges, EdgeRole::kGrooveInnerWall);
  REQUIRE(inner);
  CHECK(diameter_mm(*inner) == Approx(7.0).margin(0.05));
}

TEST_CASE("inner edges: a plain face has none", "[photo][solid]") { CHECK(named(FaceScene()).empty()); }

TEST_CASE("inner rings: height and radius of rings far from the camera's foot point", "[photo][solid]") {
  // Exact edges of three rings, at 90 rays.
  const CameraPlace camera{{0, 0}, 250};
  const Eigen::Vector2d axis(40, 10);
  RayEdges edges;
  edges.px_per_mm = 12, edges.camera_blur_px = 1;
  edges.rays.resize(90);
  const std::vector<std::array<double, 2>> rings = {{4.0, 7.0}, {2.0, 7.0}, {2.6, 1.0}};
  for (int k = 0; k < 90; ++k)
    for (const auto& [radius, z] : rings) {
      const double s = 250 / (250 - z), a = 2 * kPi * k / 90;
      RayEdge e;
      e.pixel.setZero();
      e.at = s * (axis + radius * Eigen::Vector2d(std::cos(a), std::sin(a)));
      e.blur_px = 1, e.inside = 0.1, e.outside = 0.5, e.weight = 1, e.dark_inside = true;
      edges.rays[static_cast<std::size_t>(k)].push_back(e);
    }
  RingSearch search;
  search.most_height_mm = 10, search.least_radius_mm = 0.5, search.most_radius_mm = 6;
  auto found = find_inner_rings(edges, camera, {axis, 0.03}, search);
  REQUIRE(found.size() == 3);
  std::sort(found.begin(), found.end(),
            [](const InnerRing& a, const InnerRing& b) { return a.radius_mm > b.radius_mm; });
  CHECK(found[0].radius_mm == Approx(4.0).margin(0.002));
  CHECK(found[0].height_mm == Approx(7.0).margin(0.05));
  CHECK(found[1].radius_mm == Approx(2.6).margin(0.002));
  CHECK(found[1].height_mm == Approx(1.0).margin(0.05));
  CHECK(found[2].height_mm == Approx(7.0).margin(0.05));
}

TEST_CASE("inner edges: a bore in a hub that cannot be seen is measured at the height of its own rim",
          "[photo][solid]") {
  FaceScene scene;
  scene.hub_mm = 5, scene.hub_height_mm = 9, scene.bore_mm = 2.5, scene.bore_depth_mm = 7;
  scene.face = 0.1, scene.wall = 0.1, scene.bore_wall = 0.02, scene.floor = 0.03;
  const auto edges = named(scene);
  const InnerEdge* bore = find(edges, EdgeRole::kBore);
  REQUIRE(bore);
  CHECK(bore->height_mm == Approx(9.0).margin(0.6));
  CHECK(diameter_mm(*bore) == Approx(5.0).margin(2 * bore->u_diameter_mm));
  CHECK(bore->u_diameter_mm < 0.1);
}
