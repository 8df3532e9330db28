// The outline of a side view against a picture in closed form: a rectangle blurred by a normal law is the product of two
// blurred strips.
#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/core/normal_law.hpp"
#include "rondure/photo/scale.hpp"
#include "rondure/photo/side_outline.hpp"

using namespace rondure;

namespace {

constexpr double kHalfLong_px = 110, kHalfWide_px = 70, kTurn_rad = 0.13, kMiddle_px = 160.3;
constexpr int kSide_px = 320;

// Along and across the rectangle.
Eigen::Vector2d in_rectangle(double x_px, double y_px) {
  const double x = x_px - kMiddle_px, y = y_px - kMiddle_px, c = std::cos(kTurn_rad), s = std::sin(kTurn_rad);
  return {c * x + s * y, -s * x + c * y};
}

Picture blurred_rectangle(double blur_px) {
  Picture picture;
  picture.width_px = picture.height_px = kSide_px, picture.bits = 16, picture.linear_light = true;
  const auto strip = [&](double at, double half) {
    return normal_cdf((at + half) / blur_px) - normal_cdf((at - half) / blur_px);
  };
  for (int y = 0; y < kSide_px; ++y)
    for (int x = 0; x < kSide_px; ++x) {
      const Eigen::Vector2d p = in_rectangle(x, y);
      const double light = 0.8 - 0.75 * strip(p.x(), kHalfLong_px) * strip(p.y(), kHalfWide_px);
      picture.grey16.push_back(static_cast<std::uint16_t>(std::lround(light * 65535)));
    }
  return picture;
}

}  // namespace

TEST_CASE("a side view's outline is as true 6 to 14 px from a corner as elsewhere", "[photo][side]") {
  // The bend of the outline was told across the corner, and moved such points outwards by 0.01 px (29 November 2026).
  const double blur_px = GENERATE(0.7, 1.1);
  PinScale scale;
  scale.px_per_mm = {10, 0};
  const auto outline =
      find_side_outline(blurred_rectangle(blur_px), plane_of_pins(kSide_px, kSide_px, scale), true);
  REQUIRE(outline);
  double near = 0, clear = 0;
  int n_near = 0, n_clear = 0;
  for (const SideOutlinePoint& p : outline->points) {
    const Eigen::Vector2d at = in_rectangle(p.pixel.x_px, p.pixel.y_px).cwiseAbs();
    const Eigen::Vector2d beyond(at.x() - kHalfLong_px, at.y() - kHalfWide_px);  // of each side, outwards
    const double off = beyond.maxCoeff(), to_corner = -beyond.minCoeff();
    if (to_corner > 20) clear += off * off, ++n_clear;
    if (to_corner > 6 && to_corner < 14) near += off, ++n_near;
  }
  INFO("blur " << blur_px << ", mean near corners " << near / n_near);
  REQUIRE(n_clear > 250);
  REQUIRE(n_near > 24);
  CHECK(std::sqrt(clear / n_clear) < 0.001);
  CHECK(std::abs(near / n_near) < 0.001);
}
