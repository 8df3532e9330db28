// A round edge at which no ground begins: a bore whose part is as bright as the ground, told by texture.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "photo/solid/ground_beside.hpp"

using namespace rondure;

namespace {

constexpr int kSize_px = 300;
constexpr double kPxPerMm = 10;

// Speckled ground, a smooth face of `face_mm` radius about the middle, and a dark disc of 2 mm radius.
Beside beside(double face_mm, double ground, double face, double speckle) {
  std::mt19937 random(5);
  std::normal_distribution<double> noise(0, 1);
  Picture picture;
  picture.width_px = picture.height_px = kSize_px;
  const MeasuringPlane plane = plane_of_scale(kSize_px, kSize_px, kPxPerMm, 0);
  for (int y = 0; y < kSize_px; ++y)
    for (int x = 0; x < kSize_px; ++x) {
      const double r = std::hypot(x - 150, y - 150) / kPxPerMm;
      const double light = r < 2 ? 0.1 : r < face_mm ? face : ground + speckle * noise(random);
      picture.grey8.push_back(static_cast<std::uint8_t>(
          std::lround(255 * std::min(1.0, std::max(0.0, light + 0.004 * noise(random))))));
    }
  std::vector<float> table(256);
  for (int i = 0; i < 256; ++i) table[static_cast<std::size_t>(i)] = static_cast<float>(i) / 255;
  RoundWall disc;
  disc.center = part_from_pixel(plane, {150, 150})->vec();
  disc.radius_mm = 2;
  return ground_beside({picture, table}, plane, {{0, 0}, 240}, disc, kPxPerMm, 1);
}

}  // namespace

TEST_CASE("ground beside: a dark disc on paper or on speckle has the ground beside it", "[photo][solid]") {
  CHECK(beside(2, 0.7, 0, 0).as_farther_off);
  CHECK(beside(2, 0.5, 0, 0.08).as_farther_off);
}

TEST_CASE("ground beside: a bore has its part's face beside it, by light or by texture", "[photo][solid]") {
  CHECK_FALSE(beside(5.5, 0.5, 0.5, 0.08).as_farther_off);  // as bright as the speckle
  CHECK_FALSE(beside(5.5, 0.7, 0.5, 0).as_farther_off);
  CHECK(beside(5.5, 0.7, 0.5, 0.05).of_one_light);
  CHECK_FALSE(beside(2, 0.5, 0, 0.2).of_one_light);
  CHECK(beside(5.5, 0.6, 0.6, 0).as_farther_off);  // not told apart: as smooth and as bright as its ground
}

TEST_CASE("ground beside: a dark face that ends all round is a larger part's", "[photo][solid]") {
  CHECK(beside(5.5, 0.7, 0.2, 0).ends_all_round);
  CHECK(beside(5.5, 0.7, 0.2, 0).of_nearly_one_light);
  CHECK_FALSE(beside(2, 0.7, 0, 0).ends_all_round);      // a disc on paper
  CHECK_FALSE(beside(5.5, 0.7, 0.6, 0).ends_all_round);  // nearly as bright as its ground: not told
}
