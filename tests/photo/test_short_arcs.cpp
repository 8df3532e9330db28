// Short arcs in plain pictures: a round part of which plates leave only a piece in sight.
#include <catch2/catch.hpp>
#include <cmath>

#include "photo/true_plane.hpp"
#include "render/image_file.hpp"
#include "render/scene.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/photo/round_edges.hpp"

using namespace rondure;
using rondure::render::grey;
using rondure::render::Layer;
using rondure::render::Scene;

namespace {

constexpr double kScale_px_mm = 20, kRadius_px = 970;

Layer card(Eigen::Vector2d from_mm, Eigen::Vector2d to_mm, double level) {
  Layer layer;
  layer.kind = Layer::Kind::kCard;
  layer.center = from_mm, layer.end = to_mm, layer.level = grey(level);
  return layer;
}

// A dark disc of 970 px radius on bright ground, 5 : 1, its middle far below the picture; two plates leave `arc_deg` of
// it in sight. `lean_deg`: the middle of what is seen lies so far from the top.
Scene behind_plates(double arc_deg, double lean_deg, double plates) {
  const double r = kRadius_px / kScale_px_mm, half = rad(0.5 * arc_deg), lean = rad(lean_deg);
  Scene scene;
  scene.camera = render::Camera::square_on(1240, 760, kScale_px_mm, {0, 0});
  scene.ground = grey(0.7);
  Layer disc;
  disc.profile.radius_mm = r;
  disc.center = {-r * std::sin(lean), -r * std::cos(lean)};  // what is seen is about the picture's middle
  disc.level = grey(0.14);
  scene.layers = {disc};
  const auto x_at = [&](double angle) { return disc.center.x() + r * std::sin(angle); };
  scene.layers.push_back(card({-80, -80}, {x_at(lean - half), 80}, plates));
  scene.layers.push_back(card({x_at(lean + half), -80}, {80, 80}, plates));
  scene.sensor = {.full_well_e = 8000, .read_noise_e = 5};
  return scene;
}

}  // namespace

TEST_CASE("short arcs: 60, 30 and 20 degrees between plates are found and placed, ends at corners included",
          "[photo][arcs]") {
  for (const double plates : {0.35, 0.02, 0.7})
    for (const double lean_deg : {0.0, 25.0})
      for (const double arc_deg : {60.0, 30.0, 20.0}) {
        INFO("plates " << plates << ", lean " << lean_deg << ", arc " << arc_deg);
        const Scene scene = behind_plates(arc_deg, lean_deg, plates);
        const render::Image image = render::take_picture(scene);
        const auto found = find_round_edges(render::as_picture(image), true_plane(scene.camera, 0));
        INFO((found ? std::string() : found.error().message()));
        CHECK(found);
        if (!found) continue;
        CHECK(found->size() == 1);
        const RoundEdge& edge = found->front();
        CHECK(edge.dark_inside);
        // Beside corners, and where the followed edge breaks, some of it is left out.
        CHECK(edge.coverage_deg > 0.7 * arc_deg);
        CHECK(edge.coverage_deg < 1.02 * arc_deg);
        std::vector<PartPoint> points;
        std::vector<double> sigma;
        for (const MeasuredPoint& p : edge.points) points.push_back(p.at), sigma.push_back(p.sigma_mm);
        const auto fit = fit_circle(points, sigma);
        REQUIRE(fit);
        // Sagitta of what is seen: to a hundredth of a pixel, whatever the radius makes of it.
        const double half = rad(0.5 * arc_deg), sagitta_per_radius = 1 - std::cos(half);
        const double off_px = (fit->circle.radius_mm * kScale_px_mm - kRadius_px) * sagitta_per_radius;
        CHECK(std::abs(off_px) < 0.03);
      }
}

TEST_CASE("short arcs: straight edges, corners and gentle bends that are no circle give none",
          "[photo][arcs]") {
  Scene scene;
  scene.camera = render::Camera::square_on(1240, 760, kScale_px_mm, {0, 0});
  scene.ground = grey(0.7);
  scene.layers = {card({-12, -9}, {9, 6}, 0.14), card({2, -30}, {14, 1}, 0.35)};
  scene.sensor = {.full_well_e = 8000, .read_noise_e = 5};
  const auto none = [&] {
    const render::Image image = render::take_picture(scene);
    return find_round_edges(render::as_picture(image), true_plane(scene.camera, 0));
  };
  CHECK_FALSE(none());
  // The flat side of a large oval: r swings by 4 % within what is seen.
  scene = behind_plates(30, 0, 0.35);
  scene.layers[0].profile.lobes = {{.upr = 16, .amplitude_mm = 0.4, .phase_deg = 90}};
  CHECK_FALSE(none());
}
