// A broad shallow defect is told from the part's own texture of form.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "fit/broad_defect.hpp"
#include "rondure/fit/robust_circle.hpp"

using namespace rondure;

namespace {

constexpr double kPartRadius = 10, kDepth = 0.04;

// 720 points of a part of R 10 mm, oval of 0.05 mm, texture of the orders 3 to `last` of 0.6 to 3 um, noise 0.8 um,
// and a dip of `width_deg` at 100 degrees.
std::vector<PartPoint> part(std::mt19937& random, int last, double width_deg, int n = 720) {
  std::uniform_real_distribution<double> even(0, 1);
  std::normal_distribution<double> noise(0, 0.0008);
  std::vector<double> amplitude, phase;
  for (int k = 3; k <= last; ++k)
    amplitude.push_back(0.0006 * std::pow(5.0, even(random))), phase.push_back(2 * kPi * even(random));
  std::vector<PartPoint> points;
  for (int i = 0; i < n; ++i) {
    const double t = 2 * kPi * i / n;
    double r = kPartRadius + 0.0125 * std::cos(2 * t) + noise(random);
    for (int k = 3; k <= last; ++k)
      r += amplitude[static_cast<std::size_t>(k - 3)] *
           std::cos(k * t - phase[static_cast<std::size_t>(k - 3)]);
    const double off = (t - rad(100)) / rad(width_deg / 2);
    if (width_deg > 0 && std::abs(off) < 1) r -= kDepth / 2 * (1 + std::cos(kPi * off));
    points.push_back({r * std::cos(t), r * std::sin(t)});
  }
  return points;
}

std::optional<BroadDefect> look(const std::vector<PartPoint>& points) {
  return broad_defect(profile_about(points, {}, {{0, 0}, kPartRadius}));
}

}  // namespace

TEST_CASE("broad defect: place, width and depth of a dip on a clean outline", "[fit][robust]") {
  std::mt19937 random(1);
  for (const double width : {15.0, 25.0, 50.0}) {
    const auto found = look(part(random, 2, width));
    REQUIRE(found);
    CHECK(deg(std::remainder(found->at_rad - rad(100), 2 * kPi)) == Approx(0).margin(1.1));
    CHECK(deg(found->width_rad) == Approx(width).epsilon(0.15));
    CHECK(found->height_mm == Approx(-kDepth).epsilon(0.15));
  }
}

TEST_CASE("broad defect: texture of form is none, in 98 of 100 parts", "[fit][robust]") {
  std::mt19937 random(2);
  int found = 0;
  for (int i = 0; i < 150; ++i) found += look(part(random, i % 2 ? 17 : 30, 0)).has_value();
  CHECK(found <= 3);
}

TEST_CASE("broad defect: undulations that fall as 1/k leave the outline whole, in 94 of 100 parts",
          "[fit][robust]") {
  // Orders above those of the model make neighbouring points alike. 2026-11: 9 of 100 such parts lost a sector of 18 to 60
  // degrees, each point having counted by itself.
  std::mt19937 random(5);
  std::uniform_real_distribution<double> even(0, 1);
  std::normal_distribution<double> noise(0, 0.0003);
  constexpr int kParts = 60, kPoints = 1400, kLast = 17;
  int lost = 0;
  for (int i = 0; i < kParts; ++i) {
    double phase[kLast + 1];
    for (double& p : phase) p = 2 * kPi * even(random);
    std::vector<PartPoint> points;
    for (int j = 0; j < kPoints; ++j) {
      const double t = 2 * kPi * j / kPoints;
      double r = kPartRadius + 0.0125 * std::cos(2 * t) + noise(random);
      for (int k = 3; k <= kLast; ++k) r += 0.009 / k * std::cos(k * t - phase[k]);
      points.push_back({r * std::cos(t), r * std::sin(t)});
    }
    const auto robust = fit_robust_circle(points);
    REQUIRE(robust);
    lost += !robust->sectors.empty();
  }
  CHECK(lost <= 3);
}

TEST_CASE("broad defect: a flat of 25 degrees is left out although no undulation of it stands out",
          "[fit][robust]") {
  std::mt19937 random(3);
  int noticed = 0, off = 0;
  for (int i = 0; i < 12; ++i) {
    const auto robust = fit_robust_circle(part(random, 17, 25));
    REQUIRE(robust);
    if (robust->sectors.size() != 1) continue;
    ++noticed;
    const DefectSector& flat = robust->sectors[0];
    const double middle = (flat.from_rad + flat.to_rad) / 2;
    off +=
        std::abs(deg(middle) - 100) > 4 || flat.height_mm > -0.015 || deg(flat.to_rad - flat.from_rad) > 29;
  }
  CHECK(noticed >= 11);
  CHECK(off <= 1);
}

TEST_CASE("broad defect: few points and open outlines are not judged", "[fit][robust]") {
  std::mt19937 random(4);
  CHECK_FALSE(look(part(random, 2, 25, 100)));
  auto points = part(random, 2, 25);
  points.erase(points.begin() + 400, points.begin() + 420);
  CHECK_FALSE(look(points));
}
