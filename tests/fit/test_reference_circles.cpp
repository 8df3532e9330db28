// Reference circles and calliper widths against the certified sets (tests/data/fits: every candidate contact
// set at 50 digits) and against closed forms.
#include <Eigen/LU>
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "reference_sets.hpp"
#include "rondure/fit/caliper.hpp"
#include "rondure/fit/reference_circles.hpp"

using namespace rondure;

namespace {

double extent(const std::vector<PartPoint>& points) {
  double most = 0;
  for (const PartPoint& p : points) most = std::max(most, (p.vec() - points[0].vec()).norm());
  return most;
}
double off(const PartPoint& c, const nlohmann::json& want) {
  return std::hypot(c.x_mm - want["cx"].get<double>(), c.y_mm - want["cy"].get<double>());
}
std::vector<PartPoint> noisy_circle(int n, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, 0.005);
  std::vector<PartPoint> points;
  for (int i = 0; i < n; ++i) {
    const double t = 2 * kPi * i / n;
    points.push_back({3 + 10 * std::cos(t) + noise(random), -7 + 10 * std::sin(t) + noise(random)});
  }
  return points;
}

}  // namespace

TEST_CASE("minimum circumscribed circle: certified sets to 1e-12 R, contacts on the circle", "[fit][zone]") {
  int compared = 0;
  for (const auto& [name, set] : test::certified()["sets"].items()) {
    const auto& zone = set["zone"];
    if (!zone.contains("mcc")) continue;
    INFO(name);
    const auto points = test::set_points(name);
    const auto mcc = minimum_circumscribed(points);
    REQUIRE(mcc);
    const double r = zone["mcc"]["r"];
    CHECK(std::abs(mcc->circle.radius_mm - r) <= kReferenceCircleAccuracy * r);
    CHECK(off(mcc->circle.center, zone["mcc"]) <= kReferenceCircleAccuracy * (r + std::abs(points[0].x_mm)));
    CHECK(mcc->contacts.size() >= 2);
    for (const int i : mcc->contacts)
      CHECK((points[static_cast<std::size_t>(i)].vec() - mcc->circle.center.vec()).norm() ==
            Approx(r).epsilon(1e-9));
    ++compared;
  }
  CHECK(compared > 60);
}

TEST_CASE("maximum inscribed circle: certified sets to 1e-12 R, none on open arcs", "[fit][zone]") {
  int compared = 0, refused = 0;
  for (const auto& [name, set] : test::certified()["sets"].items()) {
    const auto& zone = set["zone"];
    if (set["n"].get<int>() < 4 || !zone.contains("mic")) continue;
    INFO(name);
    const auto points = test::set_points(name);
    const auto mic = maximum_inscribed(points);
    if (zone["mic"].is_null()) {
      REQUIRE_FALSE(mic);
      CHECK(mic.error().code == ErrorCode::kNoAnswer);
      ++refused;
      continue;
    }
    REQUIRE(mic);
    const double r = zone["mic"]["r"];
    CHECK(std::abs(mic->circle.radius_mm - r) <= kReferenceCircleAccuracy * extent(points));
    // Where the set is its own mirror image two circles are equally large; then the centre is one of two.
    if (name != "opencv_10270" && name != "opencv_28748_n360")
      CHECK(off(mic->circle.center, zone["mic"]) <= 1e-11 * (extent(points) + std::abs(points[0].x_mm)));
    for (const PartPoint& p : points)
      CHECK((p.vec() - mic->circle.center.vec()).norm() >= mic->circle.radius_mm * (1 - 1e-9));
    ++compared;
  }
  CHECK(compared > 35);
  CHECK(refused > 8);
}

TEST_CASE("minimum zone: certified sets to 1e-12 of the extent, none where a strip is as narrow",
          "[fit][zone]") {
  int compared = 0;
  for (const auto& [name, set] : test::certified()["sets"].items()) {
    const auto& zone = set["zone"];
    if (set["n"].get<int>() < 4 || set["distinct_points"].get<int>() < 4) continue;
    INFO(name);
    const auto points = test::set_points(name);
    const auto mzc = minimum_zone(points);
    // Known failure: a 4 : 1 ellipse has a whole line of equally good centres and the search is given up; it
    // says so.
    if (name == "ceres_ellipse212") {
      REQUIRE_FALSE(mzc);
      CHECK(mzc.error().detail.find("too far from round") != std::string::npos);
      continue;
    }
    if (!zone.contains("mzc") || !zone["mzc"].contains("zone")) {
      REQUIRE_FALSE(mzc);
      CHECK(mzc.error().code == ErrorCode::kNoAnswer);
      continue;
    }
    REQUIRE(mzc);
    CHECK(std::abs(mzc->zone_mm - zone["mzc"]["zone"].get<double>()) <=
          kReferenceCircleAccuracy * extent(points));
    CHECK(mzc->outer_contacts.size() + mzc->inner_contacts.size() >= 4);
    CHECK(radial_spread(points, mzc->center) ==
          Approx(mzc->zone_mm).epsilon(1e-6).margin(1e-9 * extent(points)));
    CHECK(mzc->proven);
    ++compared;
  }
  CHECK(compared > 50);
}

TEST_CASE("calliper widths: certified sets to 1e-13", "[fit][zone]") {
  int compared = 0;
  for (const auto& [name, set] : test::certified()["sets"].items()) {
    const auto& zone = set["zone"];
    if (!zone.contains("max_feret")) continue;
    INFO(name);
    const auto width = caliper_widths(test::set_points(name));
    REQUIRE(width);
    const double most = zone["max_feret"];
    CHECK(std::abs(width->greatest_mm - most) <= 1e-13 * most);
    CHECK(std::abs(width->least_mm - zone["min_feret"].get<double>()) <= 1e-13 * most);
    ++compared;
  }
  CHECK(compared > 60);
}

TEST_CASE("Reuleaux triangle of width 10: circumscribed 10/sqrt 3, inscribed 10 - 10/sqrt 3, all widths 10",
          "[fit][zone]") {
  const auto points = test::set_points("stress_reuleaux10");
  const double third = 10 / std::sqrt(3.0);
  CHECK(minimum_circumscribed(points)->circle.radius_mm == Approx(third).epsilon(1e-12));
  CHECK(maximum_inscribed(points)->circle.radius_mm == Approx(10 - third).epsilon(1e-12));
  CHECK(minimum_zone(points)->zone_mm == Approx(2 * third - 10).epsilon(1e-11));
  CHECK(caliper_widths(points)->greatest_mm == Approx(10).epsilon(1e-12));
}

TEST_CASE("reference circles: no other centre has a narrower zone, any order, shift, turn and scale",
          "[fit][zone]") {
  for (const unsigned seed : {1u, 2u, 3u}) {
    auto points = noisy_circle(90, seed);
    const auto mzc = minimum_zone(points);
    const auto mcc = minimum_circumscribed(points);
    const auto mic = maximum_inscribed(points);
    REQUIRE(mzc);
    CHECK(mzc->zone_mm <= radial_spread(points, mcc->circle.center));
    CHECK(mzc->zone_mm <= radial_spread(points, mic->circle.center));
    std::mt19937 random(seed);
    std::shuffle(points.begin(), points.end(), random);
    CHECK(minimum_zone(points)->zone_mm == Approx(mzc->zone_mm).epsilon(1e-10));
    const double c = std::cos(0.7), s = std::sin(0.7), scale = 25.4;
    for (PartPoint& p : points)
      p = {scale * (c * p.x_mm - s * p.y_mm) + 1000, scale * (s * p.x_mm + c * p.y_mm) - 500};
    CHECK(minimum_zone(points)->zone_mm == Approx(scale * mzc->zone_mm).epsilon(1e-8));
    CHECK(minimum_circumscribed(points)->circle.radius_mm ==
          Approx(scale * mcc->circle.radius_mm).epsilon(1e-12));
    CHECK(maximum_inscribed(points)->circle.radius_mm ==
          Approx(scale * mic->circle.radius_mm).epsilon(1e-12));
  }
}

// Every centre with two outer and two inner contacts among all points, the narrowest of them: 60 parts,
// round, oval, lobed or rough up to a tenth of the radius, evenly and unevenly read.
TEST_CASE("minimum zone: as narrow as the best of all sets of four contacts", "[fit][zone]") {
  const auto crossing = [](const Eigen::Vector2d& p, const Eigen::Vector2d& q, const Eigen::Vector2d& r,
                           const Eigen::Vector2d& s) {
    Eigen::Matrix2d a;
    a << (q - p).transpose(), (s - r).transpose();
    const Eigen::Vector2d right(0.5 * (q.squaredNorm() - p.squaredNorm()),
                                0.5 * (s.squaredNorm() - r.squaredNorm()));
    return Eigen::Vector2d(a.partialPivLu().solve(right));
  };
  for (unsigned seed = 0; seed < 60; ++seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> noise(0, seed % 4 == 3 ? 0.3 : 0.005);
    std::uniform_real_distribution<double> jitter(-0.4, 0.4);
    const int n = 17 + static_cast<int>(seed % 5), lobes = static_cast<int>(seed % 3) + 1;
    std::vector<PartPoint> points;
    for (int i = 0; i < n; ++i) {
      const double t = 2 * kPi * (i + (seed % 2 ? jitter(random) : 0)) / n;
      const double r = 10 + (lobes > 1 ? 0.03 * std::cos(lobes * t) : 0) + noise(random);
      points.push_back({r * std::cos(t), r * std::sin(t)});
    }
    double least = 1e300;
    for (std::size_t i = 0; i < points.size(); ++i)
      for (std::size_t j = i + 1; j < points.size(); ++j)
        for (std::size_t k = 0; k < points.size(); ++k)
          for (std::size_t l = k + 1; l < points.size(); ++l) {
            if (k == i || k == j || l == i || l == j) continue;
            const auto c = crossing(points[i].vec(), points[j].vec(), points[k].vec(), points[l].vec());
            double near = 1e300, far = 0;
            for (const PartPoint& p : points) {
              const double d = (p.vec() - c).norm();
              near = std::min(near, d), far = std::max(far, d);
              if (far - near >= least) break;
            }
            least = std::min(least, far - near);
          }
    INFO("seed " << seed);
    const auto zone = minimum_zone(points);
    REQUIRE(zone);
    CHECK(zone->zone_mm == Approx(least).margin(1e-12 * 10).epsilon(0));
    CHECK(zone->proven);
  }
}

// Two lobes, exactly: eight contacts, every axis of symmetry alike. Many sets of four, one answer.
TEST_CASE("minimum zone: an exact oval of many equal contacts", "[fit][zone]") {
  for (const int n : {24, 36, 360}) {
    std::vector<PartPoint> points;
    for (int i = 0; i < n; ++i) {
      const double t = 2 * kPi * i / n, r = 10 + 0.05 * std::cos(2 * t);
      points.push_back({1e4 + r * std::cos(t), r * std::sin(t) - 1e4});
    }
    const auto zone = minimum_zone(points);
    REQUIRE(zone);
    CHECK(zone->zone_mm == Approx(0.1).margin(1e-10));
    CHECK(zone->center.x_mm == Approx(1e4).margin(1e-9));
    CHECK(zone->outer_contacts.size() == 2);
    CHECK(zone->inner_contacts.size() == 2);
  }
}

TEST_CASE("reference circles: refusals by code", "[fit][zone]") {
  const double nan = std::nan("");
  CHECK(minimum_circumscribed({}).error().code == ErrorCode::kTooFewPoints);
  CHECK(minimum_circumscribed(std::vector<PartPoint>{{1, 1}, {1, 1}}).error().code ==
        ErrorCode::kTooFewPoints);
  CHECK(minimum_circumscribed(std::vector<PartPoint>{{1, 1}, {nan, 1}}).error().code ==
        ErrorCode::kNotFinite);
  CHECK(maximum_inscribed(std::vector<PartPoint>{{1, 1}, {2, 1}}).error().code == ErrorCode::kTooFewPoints);
  CHECK(maximum_inscribed(std::vector<PartPoint>{{1, 1}, {2, 1}, {nan, 2}}).error().code ==
        ErrorCode::kNotFinite);
  CHECK(minimum_zone(std::vector<PartPoint>{{1, 1}, {2, 1}, {1, 2}}).error().code ==
        ErrorCode::kTooFewPoints);
  CHECK(minimum_zone(std::vector<PartPoint>{{0, 0}, {1, 1}, {2, 2}, {3, 3}}).error().code ==
        ErrorCode::kNoAnswer);
}
