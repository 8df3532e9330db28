// The outline's edge placed across it, where a narrow dark line (chamfer, shaded wall, mirrored tent) runs along its inside.
#include <catch2/catch.hpp>
#include <cmath>

#include "photo/solid/outline_edges.hpp"
#include "photo/solid/shade_beside.hpp"

using namespace rondure;

namespace {

constexpr int kOutline_px = 300, kRays = 60;
constexpr double kOutline_px_mm = 10, kOutlineRadius_px = 85.3, kBlur_px = 1.4, kMiddle_px = 150.2;

double step(double t_px) { return 0.5 * std::erfc(-t_px / (kBlur_px * std::sqrt(2.0))); }

// A face of light 0.5, a dark line of that width within its edge, ground of 0.7. Returns how far outside the edge, in the
// mean over the rays, it is placed.
double placed_outside_px(double line_px) {
  Picture picture;
  picture.width_px = picture.height_px = kOutline_px;
  const MeasuringPlane plane = plane_of_scale(kOutline_px, kOutline_px, kOutline_px_mm, 0);
  for (int y = 0; y < kOutline_px; ++y)
    for (int x = 0; x < kOutline_px; ++x) {
      const double t = std::hypot(x - kMiddle_px, y - kMiddle_px) - kOutlineRadius_px;
      const double light = line_px > 0 ? 0.5 - 0.4 * step(t + line_px) + 0.6 * step(t) : 0.5 + 0.2 * step(t);
      picture.grey8.push_back(static_cast<std::uint8_t>(std::lround(255 * light)));
    }
  std::vector<float> table(256);
  for (int i = 0; i < 256; ++i) table[static_cast<std::size_t>(i)] = static_cast<float>(i) / 255;
  const auto at = [&](double r_px, double angle) -> Eigen::Vector2d {
    return part_from_pixel(plane, {kMiddle_px + r_px * std::cos(angle), kMiddle_px + r_px * std::sin(angle)})
        ->vec();
  };
  RayEdges rays;
  rays.rays.resize(kRays);
  rays.px_per_mm = kOutline_px_mm;
  rays.camera_blur_px = kBlur_px;
  WallFit fit;
  fit.wall.center = at(0, 0);
  fit.wall.radius_mm = kOutlineRadius_px / kOutline_px_mm;
  for (int i = 0; i < kRays; ++i) {
    RayEdge edge;
    edge.at = at(kOutlineRadius_px, 2 * M_PI * i / kRays);
    edge.pixel = Eigen::Vector2d::Zero();  // not read
    edge.blur_px = kBlur_px, edge.dark_inside = true;
    rays.rays[static_cast<std::size_t>(i)].push_back(edge);
  }
  for (int i = 0; i < kRays; ++i) fit.chosen.push_back({i, &rays.rays[static_cast<std::size_t>(i)][0], 0});
  double sum = 0;
  int placed = 0;
  for (const auto& ray : place_across(picture, plane, table, {{0, 0}, 240}, fit, rays).rays.rays)
    for (const RayEdge& edge : ray) {
      sum += (edge.pixel - Eigen::Vector2d(kMiddle_px, kMiddle_px)).norm() - kOutlineRadius_px;
      ++placed;
    }
  CHECK(placed == kRays);
  return sum / placed;
}

}  // namespace

TEST_CASE("outline edges: a plain step is placed where it is", "[photo][solid]") {
  CHECK(std::abs(placed_outside_px(0)) < 0.02);
}

TEST_CASE("outline edges: a narrow dark line along the inside does not push the edge", "[photo][solid]") {
  for (const double line_px : {1.5, 2.0, 3.0}) {
    INFO("line of " << line_px << " px");
    CHECK(std::abs(placed_outside_px(line_px)) < 0.1);
  }
}

// Catalogues of radiation view factors: a small plate at right angles to the foot of a long strip, width h, at the distance
// d, sees it by (1 - d / sqrt(d^2 + h^2)) / 2 (from memory).
TEST_CASE("shade beside a part: of a long wall it is the strip's view factor", "[photo][solid]") {
  const double height_mm = 3;
  const ShadeBeside shade(1e5, height_mm);
  for (const double d_mm : {0.0, 0.4, 1.5, 3.0, 6.0}) {
    INFO("at " << d_mm << " mm");
    CHECK(shade.at(d_mm) == Approx(1 - d_mm / std::hypot(d_mm, height_mm)).margin(0.004));
  }
  CHECK(shade.slope_at(0.01) == Approx(-1 / height_mm).epsilon(0.05));
}

TEST_CASE("shade beside a part: a slim one hides less sky farther off", "[photo][solid]") {
  const ShadeBeside slim(2, 4), wide(200, 4);
  for (const double d_mm : {0.5, 2.0, 5.0}) CHECK(slim.at(d_mm) < wide.at(d_mm));
}
