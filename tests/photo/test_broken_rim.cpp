// The break of a rim across it: profiles drawn by steps of light, blurred, not by the model's own code.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "photo/solid/broken_rim.hpp"

using namespace rondure;

namespace {

constexpr double kSoft_px = 1.1, kScale_px = 12;

struct Drawn {
  double face = 0.2, on_break = 0.12, beyond = 0.04;
  double width_px = 2.4, at_px = 0;
  double hidden = 0;  // share of the light beyond that is lost at the rim; none 25 px on
};

double blurred(const Drawn& d, double t) {
  double sum = 0, weight = 0;
  for (double s = -5 * kSoft_px; s <= 5 * kSoft_px; s += 0.02) {
    const double w = std::exp(-0.5 * s * s / (kSoft_px * kSoft_px)), from = t + s - d.at_px;
    const double shade = 1 - d.hidden * std::max(0.0, 1 - (from - d.width_px) / 25);
    sum += w * (from < 0 ? d.face : from < d.width_px ? d.on_break : d.beyond * shade), weight += w;
  }
  return sum / weight;
}

RimOnFace rim() {
  RimOnFace r;
  r.radius_mm = 4, r.depth_mm = 3;
  return r;
}

std::optional<BrokenRim> weighed(const Drawn& d, bool noise = true) {
  std::vector<RimSector> sectors;
  std::mt19937 random(7);
  std::normal_distribution<double> light(0, noise ? 0.001 : 0);
  for (int k = 0; k < 12; ++k) {
    RimSector s;
    s.start_px = -6, s.px_per_mm = kScale_px, s.hidden_mm = 0.2;
    for (double t = s.start_px; t < 0.6 * kScale_px + 3 * kSoft_px; t += kRimStep_px) {
      s.light.push_back(blurred(d, t) + light(random));
      s.u_light.push_back(0.001);
    }
    sectors.push_back(std::move(s));
  }
  return weigh_break(sectors, kSoft_px, rim());
}

}  // namespace

TEST_CASE("broken rim: a chamfer of 0.2 mm is told from face and bore, and the bore begins beyond it",
          "[photo][solid]") {
  Drawn d;
  d.on_break = GENERATE(0.12, 0.26, 0.015);  // shaded, lit, nearly black
  const auto found = weighed(d);
  REQUIRE(found.has_value());
  INFO("break " << d.on_break << ": beyond " << found->beyond_mm << " +- " << found->u_mm << " mm");
  const double true_mm = (d.at_px + d.width_px) / kScale_px;
  CHECK(std::abs(found->beyond_mm - true_mm) < std::min(0.02, 2.5 * found->u_mm));
  CHECK(found->u_mm < 0.04);
  CHECK(found->agreed_share > 0.9);
}

TEST_CASE("broken rim: a sharp rim is where it is", "[photo][solid]") {
  Drawn d;
  d.width_px = 0;
  const auto found = weighed(d);
  REQUIRE(found.has_value());
  CHECK(std::abs(found->beyond_mm - d.at_px / kScale_px) < 2 * found->u_mm);
  CHECK(found->u_mm < 0.04);
}

// Nothing in the picture tells it then: no sector may say that there is one, and the rim stays where it was found.
TEST_CASE("broken rim: a break as dark as what lies beyond is not told", "[photo][solid]") {
  Drawn d;
  d.on_break = d.beyond;
  const auto found = weighed(d);
  REQUIRE(found.has_value());
  CHECK(found->agreed_share < 0.3);
  CHECK(std::abs(found->beyond_mm - d.at_px / kScale_px) < 0.02);
}

TEST_CASE("broken rim: a lit floor that darkens towards a sharp rim is no break", "[photo][solid]") {
  Drawn d;
  d.width_px = 0, d.beyond = 0.35, d.hidden = 0.4;
  const auto found = weighed(d);
  REQUIRE(found.has_value());
  INFO("beyond " << found->beyond_mm << " +- " << found->u_mm << " mm");
  CHECK(std::abs(found->beyond_mm - d.at_px / kScale_px) < 3 * found->u_mm);
}

// A wall from the rim down to the board is seen (s - 1) (d + R) wide on its far side, d from the camera's foot point to the axis;
// under the camera (d = 0) all round.
TEST_CASE("broken rim: only sectors that show no wall tell the break's width", "[photo][solid]") {
  MeasuringPlane plane = plane_of_scale(400, 400, kScale_px, 0);
  plane.board_blur_px = kSoft_px;
  Picture picture;
  picture.width_px = picture.height_px = 400, picture.bits = 8;
  picture.grey8.assign(400 * 400, 120);
  std::vector<float> table(256);
  for (std::size_t i = 0; i < 256; ++i) table[i] = static_cast<float>(i) / 255;
  RimOnFace high = rim();
  high.center = {16, 16}, high.height_mm = high.depth_mm = 12, high.scale = 240.0 / 228;
  const auto telling = [&](const Eigen::Vector2d& foot) {
    const auto sectors =
        sectors_of_rim(LightAt(picture, table), plane, CameraPlace{foot, 240}, high, kSoft_px);
    REQUIRE(sectors.size() == 24);
    return std::count_if(sectors.begin(), sectors.end(), [](const RimSector& s) { return s.tells_width; });
  };
  CHECK(telling({16, 16}) == 0);  // 2.4 px of wall all round
  const auto from_aside = telling({-24, 16});
  CHECK(from_aside > 4);
  CHECK(from_aside < 12);
}
