// The outline of a straight round wall, against projecting its points one by one.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "photo/solid/seen_outline.hpp"
#include "rondure/core/geometry.hpp"

using namespace rondure;

namespace {

// A point at height z as the camera sees it in the plane z = 0: along the line of sight.
Eigen::Vector2d seen(const CameraPlace& camera, const Eigen::Vector2d& at, double z_mm) {
  return camera.foot + camera.height_mm / (camera.height_mm - z_mm) * (at - camera.foot);
}

// How far all seen points of the wall reach in a direction.
double reach(const CameraPlace& camera, const RoundWall& wall, double direction_rad) {
  const Eigen::Vector2d n(std::cos(direction_rad), std::sin(direction_rad));
  double best = -1e9;
  for (const double z : {wall.foot_mm, 0.5 * (wall.foot_mm + wall.top_mm), wall.top_mm})
    for (int k = 0; k < 3600; ++k) {
      const double a = 2 * kPi * k / 3600;
      const Eigen::Vector2d rim = wall.center + wall.radius_mm * Eigen::Vector2d(std::cos(a), std::sin(a));
      best = std::max(best, n.dot(seen(camera, rim, z)));
    }
  return best;
}

const CameraPlace kCameraLow{{3, -2}, 220};

std::vector<RoundWall> walls() {
  return {{{50, 20}, 6.2, 0, 6}, {{3.5, -2.5}, 6.2, 0, 6}, {{-20, 5}, 2.5, 0, 15},
          {{30, -40}, 10, 3, 4}, {{12, -2}, 6, 2, 2},      {{9.1, -2}, 6.2, 0, 6}};
}

}  // namespace

TEST_CASE("seen outline: reaches as far as the farthest seen point in every direction", "[photo][solid]") {
  for (const RoundWall& wall : walls()) {
    const SeenOutline outline(kCameraLow, wall);
    for (int k = 0; k < 36; ++k) {
      const double a = rad(10.0 * k + 1);
      const Eigen::Vector2d n(std::cos(a), std::sin(a));
      CHECK(n.dot(outline.point(a)) == Approx(reach(kCameraLow, wall, a)).margin(2e-5));
      // The distance along the normal is the distance.
      for (const double off : {-0.3, 0.0, 0.4})
        CHECK(outline.distance_mm(outline.point(a) + off * n) == Approx(off).margin(1e-9));
    }
  }
}

TEST_CASE("seen outline: slopes of the distance agree with differences", "[photo][solid]") {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> angle(0, 2 * kPi), off(-0.5, 0.5);
  for (const RoundWall& wall : walls())
    for (int i = 0; i < 40; ++i) {
      const double a = angle(random);
      const Eigen::Vector2d at =
          SeenOutline(kCameraLow, wall).point(a) + Eigen::Vector2d(off(random), off(random));
      const OutlineDistance d = SeenOutline(kCameraLow, wall).nearest(at);
      for (int p = 0; p < kWallParameters; ++p) {
        if (wall.foot_mm == wall.top_mm && p >= kFoot) continue;  // there one circle gives way to another
        const auto moved = [&](double step) {
          RoundWall w = wall;
          double* const value[] = {&w.center.x(), &w.center.y(), &w.radius_mm, &w.foot_mm,
                                   &w.top_mm,     &w.oval.x(),   &w.oval.y()};
          *value[p] += step;
          return SeenOutline(kCameraLow, w).distance_mm(at);
        };
        const double step = 1e-5;
        CHECK(d.slope[p] == Approx((moved(step) - moved(-step)) / (2 * step)).margin(2e-5));
      }
    }
}

TEST_CASE("seen outline: a disc is its circle at that height, and a wall under the camera is its top",
          "[photo][solid]") {
  const SeenOutline disc(kCameraLow, {{12, -2}, 6, 2, 2});
  CHECK_FALSE(disc.foot_is_seen());
  CHECK(disc.distance_mm(seen(kCameraLow, {12, -2}, 2)) == Approx(-6 * 220.0 / 218));
  CHECK_FALSE(SeenOutline(kCameraLow, {{3.5, -2.5}, 6.2, 0, 6}).foot_is_seen());
  // The camera's foot on the rim: from there on outwards the foot shows.
  CHECK_FALSE(SeenOutline(kCameraLow, {{3 + 6.19, -2}, 6.2, 0, 6}).foot_is_seen());
  CHECK(SeenOutline(kCameraLow, {{3 + 6.21, -2}, 6.2, 0, 6}).foot_is_seen());
}

TEST_CASE("seen outline: an oval wall bulges by its second harmonic where its normal points",
          "[photo][solid]") {
  RoundWall wall{{30, 12}, 6.2, 0, 8}, oval = wall;
  oval.oval = {0.02, -0.03};
  for (const double normal : {0.1, 1.0, 2.5, 4.4}) {
    const Eigen::Vector2d at = SeenOutline(kCameraLow, wall).point(normal);
    const OutlineDistance d = SeenOutline(kCameraLow, oval).nearest(at);
    CHECK(d.distance_mm ==
          Approx(-d.scale * (0.02 * std::cos(2 * normal) - 0.03 * std::sin(2 * normal))).margin(1e-6));
  }
}

TEST_CASE("camera place: where the lines of sight meet", "[photo][solid]") {
  MeasuringPlane plane;
  plane.width_px = 1600, plane.height_px = 1200;
  Lens lens;
  lens.focal_x_px = lens.focal_y_px = 3000, lens.center_x_px = 805, lens.center_y_px = 590;
  lens.distortion = {-0.05, 0.02, 1e-4, -2e-4, 0};
  plane.lens = lens;
  // Camera at (7, -4, 210), looking straight down; picture rows run down, the part plane's y up.
  Eigen::Matrix3d k, view;
  k << 3000, 0, 805, 0, 3000, 590, 0, 0, 1;
  view << 1, 0, -7, 0, -1, -4, 0, 0, 210;
  plane.ideal_from_part = plane.ideal_from_board = k * view;
  const auto camera = camera_place(plane);
  REQUIRE(camera);
  CHECK(camera->foot.x() == Approx(7).margin(1e-5));
  CHECK(camera->foot.y() == Approx(-4).margin(1e-5));
  CHECK(camera->height_mm == Approx(210).margin(1e-4));
  CHECK_FALSE(camera_place(plane_of_scale(800, 600, 20, 0.01)));
}
