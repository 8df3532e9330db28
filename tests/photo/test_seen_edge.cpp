// What a board's edge looks like through another tone curve: predicted, and as read from drawn pictures.
#include <catch2/catch.hpp>
#include <cmath>

#include "../../src/photo/tone/seen_edge.hpp"
#include "bench/board_scenes.hpp"

using namespace rondure;
using Kind = render::CameraCurve::Kind;

namespace {

SeenEdge seen(const ToneCurve& camera, const EdgeLook& look) {
  const ToneCurve srgb;
  return seen_edge(camera, srgb, ToneTable(srgb), look);
}

// Of the board in a drawn picture, read as sRGB, its camera known.
BoardEdges edges_read(const bench::SceneOptions& options) {
  const bench::BoardScene s = bench::random_scene(options);
  const Picture picture = bench::photograph(s.scene, s.jpeg_quality);
  const auto plane = plane_from_board(picture, s.size, {});
  REQUIRE(plane);
  REQUIRE(plane->board_edges);
  return *plane->board_edges;
}

}  // namespace

TEST_CASE("seen edge: the camera's own curve shows it as it is", "[photo][tone]") {
  for (const double blur : {0.6, 1.0, 2.0}) {
    const SeenEdge e = seen({}, {0.05, 0.7, blur});
    CHECK(std::abs(e.toward_bright_px) < 1e-5);
    CHECK(e.blur_px == Approx(blur).epsilon(1e-5));
    CHECK(std::abs(e.skew) < 1e-5);
    CHECK(std::abs(e.peak) < 1e-5);
  }
}

TEST_CASE("seen edge: a shoulder moves edges into the black and skews them, ever more", "[photo][tone]") {
  SeenEdge before;
  for (const double w : {0.3, 0.6, 1.2, 2.4, 4.8}) {
    const SeenEdge e = seen({false, 0, 0, w}, {0.1, 0.7, 1});
    CHECK(e.toward_bright_px < before.toward_bright_px - 0.01);
    CHECK(e.skew < before.skew - 0.002);
    before = e;
  }
}

TEST_CASE("seen edge: the lengths go with the blur", "[photo][tone]") {
  const ToneCurve camera{false, -0.2, 0, 1};
  const SeenEdge one = seen(camera, {0.1, 0.7, 1}), two = seen(camera, {0.1, 0.7, 2});
  CHECK(two.toward_bright_px == Approx(2 * one.toward_bright_px).epsilon(0.02));  // the windows are not alike
  CHECK(two.blur_px == Approx(2 * one.blur_px).epsilon(0.01));
  CHECK(two.skew == Approx(one.skew).epsilon(0.05));
}

TEST_CASE("seen edge: no contrast, or none left, is seen as it is", "[photo][tone]") {
  for (const EdgeLook& look : {EdgeLook{0.5, 0.5, 1}, EdgeLook{0.6, 0.4, 1}, EdgeLook{0.1, 0.7, 0}}) {
    const SeenEdge e = seen({false, 0.2, 0, 1}, look);
    CHECK(e.toward_bright_px == 0);
    CHECK(e.skew == 0);
  }
}

// A shoulder of the renderer's, (1.3 L / (L + 0.3))^(1 / 1.7), is w = 1 / 0.3 with another gamma to within
// the toe of sRGB.
TEST_CASE("seen edge: a drawn board shows what is predicted of its camera", "[photo][tone]") {
  const ToneCurve shoulder{false, 1.7 / 2.2 - 1, 0, 1 / 0.3};
  for (const int number : {100, 103}) {  // JPEG 95 and PNG
    INFO("scene " << number);
    const BoardEdges right = edges_read({.number = number});
    CHECK(std::abs(right.skew) < 0.0015);
    CHECK(std::abs(right.growth_px) < 0.001);
    const BoardEdges bent = edges_read({.number = number, .curve = {Kind::kShoulder}});
    const SeenEdge predicted = seen(shoulder, {bent.dark_light, bent.bright_light, bent.blur_px});
    CHECK(bent.growth_px == Approx(predicted.toward_bright_px).epsilon(0.03));
    CHECK(bent.skew == Approx(predicted.skew).epsilon(0.05));
    CHECK(bent.u_skew < 0.0005);
  }
}

TEST_CASE("seen edge: ink moves edges and leaves them straight", "[photo][tone]") {
  const BoardEdges inked = edges_read({.number = 103, .ink_mm = 0.03});
  CHECK(std::abs(inked.skew) < 0.0015);  // as is allowed for in tone_evidence.cpp
  CHECK(inked.growth_px > 0.2);
}
