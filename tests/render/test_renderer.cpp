// The pictures that the other tests trust: checked against closed forms only.
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>

#include "render/image_file.hpp"
#include "render/scene.hpp"

using namespace rondure;
using namespace rondure::render;

namespace {

// A black disc on full light, 10 px/mm, centred at a fraction of a pixel.
Scene disc_scene(double radius_px, double blur_px, Eigen::Vector2d shift_px = {0.3, -0.2}) {
  Scene scene;
  const int side = static_cast<int>(2 * radius_px + 40);
  scene.camera = Camera::square_on(side, side, 10);
  scene.ground = grey(1);
  scene.optics.blur_px = blur_px;
  Layer disc;
  disc.name = "disc";
  disc.center = shift_px / 10;
  disc.profile.radius_mm = radius_px / 10;
  disc.level = grey(0);
  scene.layers.push_back(disc);
  return scene;
}

double dark_area_px2(const Scene& scene) {
  const auto light = render_light(scene);
  double sum = 0;
  for (const float v : light) sum += 1 - static_cast<double>(v);
  return sum;
}

}  // namespace

TEST_CASE("renderer: the light a disc takes away is its area", "[render]") {
  for (const double radius_px : {5.0, 40.0, 120.0})
    for (const double blur_px : {0.0, 0.6, 1.5}) {
      const double radius = std::sqrt(dark_area_px2(disc_scene(radius_px, blur_px)) / kPi);
      INFO("R " << radius_px << " blur " << blur_px);
      CHECK(std::abs(radius - radius_px) < 1e-4);  // px
    }
}

TEST_CASE("renderer: a blurred straight edge is the error function", "[render]") {
  Scene scene = disc_scene(20, 0.8);
  scene.camera = Camera::square_on(60, 40, 10);
  scene.layers[0].profile.radius_mm = 1e5;  // as straight as an edge can be
  scene.layers[0].center = {-1e5 + 0.03, 0};
  const auto light = render_light(scene);
  for (int x = 20; x < 40; ++x) {
    const double d = x - 29.5 - 0.3;  // px from the edge; the box is averaged by Simpson's rule
    const auto phi = [](double t) { return 0.5 * std::erfc(-t / (0.8 * std::sqrt(2.0))); };
    const double expected =
        (phi(d - 0.5) + 4 * phi(d - 0.25) + 2 * phi(d) + 4 * phi(d + 0.25) + phi(d + 0.5)) / 12;
    CHECK(light[20 * 60 + x] == Approx(expected).margin(6e-4));
  }
}

TEST_CASE("renderer: a point of the board is drawn where the camera projects it, through the lens",
          "[render]") {
  Lens lens{1800, 1800, 330, 250, {-0.2, 0.05, 0.001, -0.0005, 0}};
  Scene scene;
  scene.camera = Camera::looking_at(640, 480, lens, {2, -1}, 90, 12, 30, 20);
  scene.ground = grey(0);
  Layer spot;
  spot.kind = Layer::Kind::kSpot;
  spot.center = spot.end = {6, 4};
  spot.z_high_mm = 2;
  spot.profile.radius_mm = 0.25;
  spot.level = grey(1);
  scene.layers.push_back(spot);
  const auto light = render_light(scene);
  double sum = 0, x = 0, y = 0;
  for (int r = 0; r < 480; ++r)
    for (int c = 0; c < 640; ++c) {
      const double v = light[r * 640 + c];
      sum += v, x += c * v, y += r * v;
    }
  REQUIRE(sum > 10);
  const PixelPoint expected = scene.camera.project({6, 4, 2});
  CHECK(x / sum == Approx(expected.x_px).margin(0.02));  // perspective shifts a spot's centroid by less
  CHECK(y / sum == Approx(expected.y_px).margin(0.02));
}

TEST_CASE("renderer: ink spread makes black squares wider by twice its size", "[render]") {
  const auto black_share = [](double ink_mm) {
    Scene scene;
    scene.camera = Camera::square_on(400, 400, 10, {20, -20});
    scene.board =
        Board{.columns = 9, .rows = 9, .square_mm = 5, .ink_mm = ink_mm, .black = grey(0), .white = grey(1)};
    const auto light = render_light(scene);
    return 1 - std::accumulate(light.begin(), light.end(), 0.0) / static_cast<double>(light.size());
  };
  CHECK(black_share(0) == Approx(0.5).margin(1e-4));
  // In the middle every square of side 5 becomes 5.1, the corners' overlaps counted once: (5.1^2 - 2 * 0.1^2
  // / 2) / 50.
  CHECK(black_share(0.05) == Approx((5.1 * 5.1 - 0.01) / 50).margin(1e-3));
}

TEST_CASE("renderer: light that spreads in the paper comes on from half beside ink", "[render]") {
  Scene scene;
  scene.camera = Camera::square_on(400, 60, 100, {0, -2.5});  // one side between black and white, x = 0
  scene.board =
      Board{.columns = 3, .rows = 3, .square_mm = 5, .spread_mm = 0.2, .black = grey(0), .white = grey(1)};
  scene.optics.blur_px = 0;
  const auto light = render_light(scene);
  const bool white_right = light[30 * 400 + 390] > light[30 * 400 + 10];
  for (const int away : {2, 10, 20, 50, 150}) {
    const int x = white_right ? 200 + away : 199 - away;
    const double d_mm = (away + 0.5) / 100;
    CHECK(light[30 * 400 + x] == Approx(1 - 0.5 * std::exp(-d_mm / 0.2)).margin(2e-3));
  }
}

TEST_CASE("renderer: noise has the stated size and the seed repeats it", "[render]") {
  Scene scene = disc_scene(20, 0.8);
  scene.ground = grey(0.5);
  scene.layers.clear();
  scene.tone.kind = CameraCurve::Kind::kLinear;
  scene.bits = 16;
  scene.sensor.full_well_e = 1000;
  const Image a = take_picture(scene), b = take_picture(scene);
  CHECK(a.samples == b.samples);
  double sum = 0, sum2 = 0;
  for (const auto v : a.samples) sum += v / 65535.0, sum2 += (v / 65535.0) * (v / 65535.0);
  const double n = static_cast<double>(a.samples.size()), mean = sum / n;
  CHECK(mean == Approx(0.5).margin(0.002));
  CHECK(std::sqrt(sum2 / n - mean * mean) == Approx(std::sqrt(0.5 / 1000)).epsilon(0.03));
  scene.sensor.seed = 2;
  CHECK(take_picture(scene).samples != a.samples);
}
