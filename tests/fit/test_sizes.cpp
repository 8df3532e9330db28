// Sizes of ISO 14405-1 against closed forms.
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "rondure/fit/sizes.hpp"

using namespace rondure;

namespace {
std::vector<PartPoint> outline(int n, const std::function<double(double)>& radius) {
  std::vector<PartPoint> points;
  for (int i = 0; i < n; ++i) {
    const double t = 2 * kPi * i / n;
    points.push_back({5 + radius(t) * std::cos(t), -2 + radius(t) * std::sin(t)});
  }
  return points;
}
}  // namespace

TEST_CASE("sizes of a circle are its diameter, from 12 points as from 360", "[fit][sizes]") {
  for (const int n : {12, 24, 360}) {
    const auto sizes = outline_sizes(outline(n, [](double) { return 10.0; }));
    REQUIRE(sizes);
    CHECK(sizes->gg_mm == Approx(20).epsilon(1e-12));
    CHECK(sizes->gn_mm == Approx(20).epsilon(1e-12));
    REQUIRE(sizes->gx_mm);
    CHECK(*sizes->gx_mm == Approx(20).epsilon(1e-12));
    REQUIRE(sizes->lp_max_mm);
    CHECK(*sizes->cc_mm == Approx(20).epsilon(1e-12));
    CHECK(*sizes->ca_mm == Approx(20).epsilon(1e-12));
    CHECK(*sizes->lp_max_mm == Approx(20).epsilon(1e-12));
    CHECK(*sizes->lp_range_mm == Approx(0).margin(1e-12));
  }
}

TEST_CASE("sizes of an ellipse: area 2 sqrt(ab), circumference by Ramanujan's series, two-point 2a and 2b",
          "[fit][sizes]") {
  const double a = 10.2, b = 9.8, turn = 0.5;
  std::vector<PartPoint> points;
  for (int i = 0; i < 120; ++i) {
    const double t = 2 * kPi * i / 120, x = a * std::cos(t), y = b * std::sin(t);
    points.push_back({x * std::cos(turn) - y * std::sin(turn), x * std::sin(turn) + y * std::cos(turn)});
  }
  const auto sizes = outline_sizes(points);
  REQUIRE(sizes);
  REQUIRE(sizes->cc_mm);
  const double h = std::pow((a - b) / (a + b), 2);
  // S. Ramanujan, Quarterly Journal of Mathematics 45 (1914) 350 (from memory); error of order h^5
  const double perimeter = kPi * (a + b) * (1 + 3 * h / (10 + std::sqrt(4 - 3 * h)));
  CHECK(*sizes->cc_mm == Approx(perimeter / kPi).epsilon(1e-10));
  CHECK(*sizes->ca_mm == Approx(2 * std::sqrt(a * b)).epsilon(1e-10));
  CHECK(*sizes->lp_max_mm == Approx(2 * a).epsilon(1e-6));
  CHECK(*sizes->lp_min_mm == Approx(2 * b).epsilon(1e-6));
  CHECK(*sizes->lp_range_mm == Approx(2 * (a - b)).epsilon(1e-4));
  CHECK(*sizes->lp_max_axis_rad == Approx(turn).margin(0.005));
}

TEST_CASE("sizes of a three-lobed part: no two-point size shows the lobes", "[fit][sizes]") {
  const auto sizes = outline_sizes(outline(90, [](double t) { return 10 + 0.05 * std::cos(3 * t); }));
  REQUIRE(sizes);
  CHECK(*sizes->lp_range_mm == Approx(0).margin(1e-6));
  CHECK(sizes->gn_mm - *sizes->gx_mm == Approx(0.2).epsilon(0.01));
}

TEST_CASE("sizes of an arc: only those that an arc carries", "[fit][sizes]") {
  std::vector<PartPoint> points;
  for (int i = 0; i < 30; ++i) points.push_back({10 * std::cos(0.05 * i), 10 * std::sin(0.05 * i)});
  const auto sizes = outline_sizes(points);
  REQUIRE(sizes);
  CHECK(sizes->gg_mm == Approx(20));
  CHECK_FALSE(sizes->gx_mm);
  CHECK_FALSE(sizes->cc_mm);
  CHECK_FALSE(sizes->lp_max_mm);
}
