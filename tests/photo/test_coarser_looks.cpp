// Outlines that only a coarser look at the picture shows (src/photo/edge/coarser_looks.hpp), in small made pictures.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "rondure/core/geometry.hpp"
#include "rondure/photo/round_edges.hpp"

using namespace rondure;

namespace {

constexpr int kWidth = 2400, kHeight = 1600;  // px: looked at by halves, then quarters and eighths
constexpr double kMiddleX = 1010, kMiddleY = 740, kDisc_px = 280;
constexpr double kAcross = 0.965;  // of the ellipse, the shorter axis

// Stones of 5 to 14 px and all shades on the ground; a dark disc that a camera tilted by some 15 degrees sees as an ellipse.
Picture on_speckled_ground(bool with_disc) {
  std::mt19937 random(5);
  const auto upto = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  std::vector<double> light(static_cast<std::size_t>(kWidth) * kHeight, 190);
  for (int stone = 0; stone < 80000; ++stone) {
    const int x0 = upto(kWidth), y0 = upto(kHeight), half = 2 + upto(5), level = 120 + upto(130);
    for (int y = std::max(0, y0 - half); y <= std::min(kHeight - 1, y0 + half); ++y)
      for (int x = std::max(0, x0 - half); x <= std::min(kWidth - 1, x0 + half); ++x)
        if (std::hypot(x - x0, y - y0) <= half) light[static_cast<std::size_t>(y) * kWidth + x] = level;
  }
  Picture picture;
  picture.width_px = kWidth, picture.height_px = kHeight;
  picture.grey8.resize(light.size());
  for (int y = 0; y < kHeight; ++y)
    for (int x = 0; x < kWidth; ++x) {
      const double r = std::hypot(x - kMiddleX, (y - kMiddleY) / kAcross) - kDisc_px;
      const double covered = with_disc ? 0.5 * std::erfc(r / std::sqrt(2.0)) : 0;  // a blur of a pixel
      const double ground = light[static_cast<std::size_t>(y) * kWidth + x];
      const double value = ground + covered * (90 - ground) + 4 * (upto(1000) / 1000.0 - 0.5);
      picture.grey8[static_cast<std::size_t>(y) * kWidth + x] =
          static_cast<std::uint8_t>(std::lround(std::clamp(value, 0.0, 255.0)));
    }
  return picture;
}

Result<std::vector<RoundEdge>> edges_by_scale(const Picture& picture) {
  return find_round_edges(picture, plane_of_scale(kWidth, kHeight, 10, 0));
}

}  // namespace

TEST_CASE("coarser looks: a tilted disc on speckled ground is found", "[photo][edges]") {
  const auto edges = edges_by_scale(on_speckled_ground(true));
  REQUIRE(edges);
  const RoundEdge& outer = edges->front();
  CHECK(outer.dark_inside);
  CHECK(outer.coverage_deg > 250);
  // Mean radius of the ellipse, px; stones touch it all round.
  CHECK(outer.rough_px.radius_mm == Approx(kDisc_px * (1 + kAcross) / 2).epsilon(0.01));
  CHECK(std::hypot(outer.rough_px.center.x_mm - kMiddleX, outer.rough_px.center.y_mm - kMiddleY) < 3);
}

TEST_CASE("coarser looks: speckled ground alone is no part", "[photo][edges]") {
  const auto edges = edges_by_scale(on_speckled_ground(false));
  if (!edges) return;
  for (const RoundEdge& edge : *edges) CHECK(edge.rough_px.radius_mm < 30);  // single stones
}
