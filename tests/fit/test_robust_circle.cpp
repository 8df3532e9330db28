// Defects are found, form is left alone, clean points are kept.
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <random>

#include "reference_sets.hpp"
#include "rondure/fit/robust_circle.hpp"

using namespace rondure;

namespace {

constexpr double kRadius = 10, kSigma = 0.005;

// n points round (3, 7), R 10 mm, noise 5 um, with `height` added to the radius at angle t.
std::vector<PartPoint> part(int n, unsigned seed, const std::function<double(int, double)>& height) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, kSigma);
  std::vector<PartPoint> points;
  for (int i = 0; i < n; ++i) {
    const double t = 2 * kPi * i / n, r = kRadius + height(i, t);
    points.push_back({3 + r * std::cos(t) + noise(random), 7 + r * std::sin(t) + noise(random)});
  }
  return points;
}

}  // namespace

TEST_CASE("robust circle: the moved point of a published-style set is found and the rest fitted",
          "[fit][robust]") {
  // stress_outlier: point 11 of 40 moved by more than 100 sigma; certified answer without it beside it.
  const auto& set = test::certified()["sets"]["stress_outlier"];
  const auto robust = fit_robust_circle(test::set_points("stress_outlier"));
  REQUIRE(robust);
  REQUIRE(robust->slips.size() == 1);
  CHECK(robust->sectors.empty());
  CHECK(robust->slips[0].height_mm > 1);
  CHECK(robust->points_used == 39);
  const auto& want = set["circle_without_outlier"]["geometric"];
  CHECK(robust->fit.circle.radius_mm == Approx(want["r"].get<double>()).epsilon(1e-9));
}

TEST_CASE("robust circle: round, oval and lobed sets lose no point", "[fit][robust]") {
  for (const char* name :
       {"stress_lobe2", "stress_lobe3", "stress_lobe5", "stress_ordered40", "stress_near_circle_noise",
        "stress_near_circle_exact", "stress_roller_gaps", "stress_two_sides", "stress_arc90", "stress_arc60",
        "stress_arc20", "stress_tiny", "stress_huge_offset", "stress_pixels", "imagingbook_circle_pixels",
        "stress_three_points", "stress_four_points"}) {
    INFO(name);
    const auto points = test::set_points(name);
    const auto robust = fit_robust_circle(points);
    REQUIRE(robust);
    CHECK(robust->points_used == static_cast<int>(points.size()));
    CHECK(robust->fit.circle.radius_mm == Approx(fit_circle(points)->circle.radius_mm).epsilon(1e-12));
  }
}

TEST_CASE("robust circle: a nib is one sector with its place and height, on a round and on an oval part",
          "[fit][robust]") {
  for (const double oval : {0.0, 0.08}) {
    const auto points = part(120, 11, [&](int i, double t) {
      return oval * std::cos(2 * t) + (i >= 30 && i < 37 ? 0.1 : 0.0);  // 7 points from 90 deg, 0.1 mm high
    });
    const auto robust = fit_robust_circle(points);
    REQUIRE(robust);
    INFO("oval " << oval);
    REQUIRE(robust->sectors.size() == 1);
    CHECK(robust->slips.empty());
    const DefectSector& nib = robust->sectors[0];
    CHECK(nib.indices.size() == 7);
    CHECK(deg(nib.from_rad) == Approx(90).margin(0.5));
    CHECK(deg(nib.to_rad) == Approx(108).margin(0.5));
    CHECK(nib.mean_height_mm == Approx(0.1).margin(3 * kSigma));
    CHECK(robust->sigma_mm == Approx(kSigma).epsilon(0.3));
    REQUIRE(robust->outline_circle);
    CHECK(robust->outline_circle->radius_mm == Approx(kRadius).margin(4 * kSigma / std::sqrt(110)));
  }
}

TEST_CASE("robust circle: a crack that passes angle 0 is one sector below the outline", "[fit][robust]") {
  const auto points = part(90, 5, [](int i, double) { return i >= 87 || i < 3 ? -0.2 : 0.0; });
  const auto robust = fit_robust_circle(points);
  REQUIRE(robust);
  REQUIRE(robust->sectors.size() == 1);
  CHECK(robust->sectors[0].height_mm < -0.18);
  CHECK(deg(robust->sectors[0].from_rad) == Approx(348).margin(0.5));
  CHECK(deg(robust->sectors[0].to_rad) == Approx(8).margin(0.5));
  CHECK(robust->sectors[0].indices == std::vector<int>{87, 88, 89, 0, 1, 2});
}

TEST_CASE("robust circle: a mistyped reading among eight is found", "[fit][robust]") {
  auto points = part(8, 3, [](int, double) { return 0.0; });
  points[5].x_mm += 9;  // a digit typed wrong
  const auto robust = fit_robust_circle(points);
  REQUIRE(robust);
  REQUIRE(robust->slips.size() == 1);
  CHECK(robust->slips[0].index == 5);
  CHECK(robust->fit.circle.radius_mm == Approx(kRadius).margin(4 * kSigma));
}

// 2026-11-25: six readings were refused once in 3,000 parts, and one part in seventeen of ten readings lost
// so many to an oval with a single degree of freedom that the radius moved by more than its standard
// deviation. 2026-11-26: of sixteen clean readings 3.2 % lost one to an oval with a slip.
TEST_CASE("robust circle: few clean readings are neither refused nor lost", "[fit][robust][statistics]") {
  for (const int n : {6, 7, 10, 16}) {
    int refused = 0, losing = 0;
    constexpr int kParts = 1000;
    for (int k = 0; k < kParts; ++k) {
      const auto robust =
          fit_robust_circle(part(n, static_cast<unsigned>(k), [](int, double) { return 0.0; }));
      refused += !robust;
      losing += robust && robust->points_used < n;
    }
    INFO(n << " readings");
    CHECK(refused == 0);
    CHECK(losing <= kParts * (kFalseExclusion + 3 * std::sqrt(kFalseExclusion / kParts)));
  }
}

// 2026-11-25: the low points of such a defect were taken for noise, and the higher ones for the noise that
// these made.
TEST_CASE("robust circle: a rough defect over 108 degrees is not taken for noise or form",
          "[fit][robust][statistics]") {
  constexpr int kParts = 40;
  for (int k = 0; k < kParts; ++k) {
    std::mt19937 random(static_cast<unsigned>(k) + 500);
    std::uniform_real_distribution<double> height(6 * kSigma, 30 * kSigma);
    const auto robust = fit_robust_circle(
        part(100, static_cast<unsigned>(k), [&](int i, double) { return i < 30 ? height(random) : 0.0; }));
    REQUIRE(robust);
    INFO("part " << k);
    CHECK(robust->points_used <= 71);
    CHECK(robust->fit.circle.radius_mm == Approx(kRadius).margin(5 * 1.5 * kSigma / std::sqrt(100)));
  }
}

// 60 parts a row, 100 points, fixed seeds: root mean square error of the radius in standard deviations of a
// clean fit; statistical error of each 9 %, so three times that is allowed above the figure. The full table:
// tests/data/studies/study_fit_robust.txt.
TEST_CASE("robust circle: 30 % of contaminated points do not move the radius", "[fit][robust][statistics]") {
  struct Row {
    const char* name;
    double limit;
    std::function<double(int, std::mt19937&)> height;
  };
  const Row rows[] = {{"clean", 1.15, [](int, std::mt19937&) { return 0.0; }},
                      {"defect over 36 deg", 1.3, [](int i, std::mt19937&) { return i < 10 ? 0.1 : 0.0; }},
                      {"defect over 108 deg", 1.8, [](int i, std::mt19937&) { return i < 30 ? 0.1 : 0.0; }},
                      {"slips, 30 %", 1.5, [](int, std::mt19937& r) {
                         std::uniform_real_distribution<double> u(0, 1);
                         return u(r) < 0.25 ? (u(r) - 0.5) * 200 * kSigma : 0.0;
                       }}};
  for (const Row& row : rows) {
    double square = 0;
    const int parts = 60;
    for (int k = 0; k < parts; ++k) {
      std::mt19937 random(static_cast<unsigned>(1000 + k));
      const auto points =
          part(100, static_cast<unsigned>(k), [&](int i, double) { return row.height(i, random); });
      const auto robust = fit_robust_circle(points);
      REQUIRE(robust);
      square += std::pow((robust->fit.circle.radius_mm - kRadius) / (kSigma / std::sqrt(100)), 2);
    }
    INFO(row.name);
    CHECK(std::sqrt(square / parts) < row.limit + 0.3);
  }
}

TEST_CASE(
    "robust circle: seen 240 degrees round about one centre and less about the next, no more columns than "
    "there are",
    "[fit][robust]") {
  // 2026-11-30: an overlapped coin; the second profile was read beyond its columns, and the answer changed from run to run.
  std::mt19937 random(189);
  std::normal_distribution<double> noise(0, 0.01);
  const double arc_rad = rad(240.0 + 9 * 0.2);
  std::vector<PartPoint> points;
  for (int i = 0; i < 200; ++i) {
    const double t = arc_rad * i / 199, high_mm = t > 1.3 && t < 1.8 ? 0.6 : 0;
    const double r =
        9 + 0.3 * std::cos(2 * t) + 0.12 * std::cos(3 * t + 1) + 0.05 * std::cos(5 * t) + high_mm;
    points.push_back({r * std::cos(t) + noise(random), r * std::sin(t) + noise(random)});
  }
  const auto robust = fit_robust_circle(points);
  REQUIRE(robust);
  CHECK_FALSE(robust->outline_circle);  // not seen far enough round
  CHECK(robust->form_columns <= 4);     // which an arc has at most, besides the circle's three
}

TEST_CASE("robust circle: two slips side by side among few points are found where the noise is told",
          "[fit][robust]") {
  // Least squares follows two neighbours among ten: no residual stands out, but all are many times the told noise. 2026-11: such
  // a set passed for round with form.
  int found = 0, clean_lost = 0, sets = 0;
  for (const int n : {10, 12, 14})
    for (int at = 0; at < n; ++at)
      for (const double side : {-1.0, 1.0}) {
        const auto slipped = [&](int i, double) {
          return i == at ? side * 0.2 : i == (at + 1) % n ? side * 0.15 : 0.0;
        };
        const unsigned seed = 40 + static_cast<unsigned>(100 * n + at);
        const std::vector<double> told(static_cast<std::size_t>(n), kSigma);
        const auto robust = fit_robust_circle(part(n, seed, slipped), told);
        const auto clean = fit_robust_circle(part(n, seed + 7, [](int, double) { return 0.0; }), told);
        REQUIRE(robust);
        REQUIRE(clean);
        ++sets;
        found += !robust->used[static_cast<std::size_t>(at)] &&
                 !robust->used[static_cast<std::size_t>((at + 1) % n)] && robust->points_used == n - 2;
        clean_lost += clean->points_used < n;
      }
  CHECK(sets == 72);
  CHECK(found >= 70);
  CHECK(clean_lost <= 3);
}

TEST_CASE("robust circle: a told noise that is too small takes no point from a part with form",
          "[fit][robust]") {
  // An oval of 0.1 mm and three lobes of 0.1 mm, noise told as it is and at half of it.
  for (const double told : {kSigma, kSigma / 2})
    for (const int order : {2, 3}) {
      int lost = 0;
      for (unsigned seed = 1; seed <= 40; ++seed) {
        const auto points = part(16, seed, [&](int, double t) { return 0.05 * std::cos(order * t + seed); });
        lost += fit_robust_circle(points, std::vector<double>(points.size(), told))->points_used < 16;
      }
      INFO("told " << told << ", order " << order);
      CHECK(lost <= 2);
    }
}

TEST_CASE(
    "robust circle: readings set down carelessly on a part with form keep their points where the noise is "
    "told",
    "[fit][robust]") {
  // 16 readings, spacing off by up to half, two of them side by side; orders 2 to 30 with amplitudes that fall as 1/k, 0.05 % of R
  // at order 2. Two neighbours share their form: 4.5 % of such parts lost points to a "sector" of theirs, and the radius with them.
  std::mt19937 random(16);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> off(-0.5, 0.5);
  int lost = 0, missed = 0;
  for (int k = 0; k < 200; ++k) {
    double cosine[31], sine[31], at[16];
    for (int order = 2; order <= 30; ++order)
      cosine[order] = 0.01 / order / std::sqrt(2.0) * normal(random),
      sine[order] = 0.01 / order / std::sqrt(2.0) * normal(random);
    for (int i = 0; i < 16; ++i) at[i] = 2 * kPi / 16 * (i + off(random));
    at[3] = at[4] + 0.1 * 2 * kPi / 16;
    std::vector<PartPoint> points;
    for (const double t : at) {
      double r = kRadius;
      for (int order = 2; order <= 30; ++order)
        r += cosine[order] * std::cos(order * t) + sine[order] * std::sin(order * t);
      points.push_back(
          {3 + r * std::cos(t) + 0.003 * normal(random), 7 + r * std::sin(t) + 0.003 * normal(random)});
    }
    const std::vector<double> told(16, 0.003);
    lost += fit_robust_circle(points, told)->points_used < 16;
    points[9].x_mm += 0.09 * std::cos(at[9]),
        points[9].y_mm += 0.09 * std::sin(at[9]);  // a digit mistyped is still found
    missed += fit_robust_circle(points, told)->used[9];
  }
  CHECK(lost <= 2);
  CHECK(missed <= 10);
}
