// How `measure` names the round edges of one part.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "cli/process.hpp"
#include "render/image_file.hpp"
#include "render/scene.hpp"

using namespace rondure;
using rondure::render::grey;

namespace {

render::Layer ring(double radius_mm, double level) {
  render::Layer layer;
  layer.profile.radius_mm = radius_mm;
  layer.level = grey(level);
  return layer;
}

render::Scene lying_on_light_ground() {
  render::Scene scene;
  scene.camera = render::Camera::square_on(400, 380, 25);
  scene.ground = grey(0.7);
  scene.sensor = {.full_well_e = 8000, .read_noise_e = 5};
  return scene;
}

std::vector<std::string> names_in(const render::Scene& scene) {
  const Folder folder;
  render::write_png(folder.path("part.png"), render::take_picture(scene));
  const Run run = rondure_run({"measure", folder.path("part.png"), "--scale", "25px/mm", "--json",
                               folder.path("part.json"), "--quiet"});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  std::vector<std::string> names;
  const auto record = nlohmann::json::parse(folder.read("part.json"));
  for (const auto& feature : record.at("features")) names.push_back(feature.at("name"));
  return names;
}

}  // namespace

TEST_CASE("measure: two walls of a ring are a groove, what steps down only is a hub step",
          "[photo][measure]") {
  render::Scene scene = lying_on_light_ground();
  scene.layers = {ring(7, 0.08), ring(5.4, 0.25), ring(4.4, 0.08), ring(1.5, 0.7)};
  CHECK(names_in(scene) ==
        std::vector<std::string>{"outside", "groove, outer wall", "groove, inner wall", "bore"});
  // A lighter face that does not come back to the flange's light is a step of the hub.
  scene.layers = {ring(7, 0.08), ring(4.4, 0.25), ring(1.5, 0.7)};
  CHECK(names_in(scene) == std::vector<std::string>{"outside", "hub step", "bore"});
}

TEST_CASE("measure: a chip's or nib's own round edge is no feature", "[photo][measure]") {
  for (const double height_mm : {-0.5, 0.5}) {
    INFO(height_mm);
    render::Scene scene = lying_on_light_ground();
    scene.layers = {ring(6, 0.08)};
    scene.layers[0].profile.bumps = {{70, 1.6, height_mm}, {200, 1.0, height_mm}};
    CHECK(names_in(scene) == std::vector<std::string>{"outside"});
  }
}
