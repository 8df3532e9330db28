// The geometric circle: exact recovery, derivatives, properties, statistics, refusals.
#include <Eigen/Geometry>
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numeric>
#include <random>

#include "../../src/fit/circle_sums.hpp"
#include "rondure/fit/circle_fit.hpp"

using namespace rondure;

namespace {

std::vector<PartPoint> arc(int n, double degrees, const Circle& c, double sigma = 0, unsigned seed = 1) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, 1);
  std::vector<PartPoint> points;
  for (int i = 0; i < n; ++i) {
    const double t = 0.3 + rad(degrees) * i / (degrees > 359 ? n : n - 1);
    points.push_back({c.center.x_mm + c.radius_mm * std::cos(t) + sigma * noise(random),
                      c.center.y_mm + c.radius_mm * std::sin(t) + sigma * noise(random)});
  }
  return points;
}

double worst(const Circle& a, const Circle& b) {
  return std::max({std::abs(a.radius_mm - b.radius_mm), std::abs(a.center.x_mm - b.center.x_mm),
                   std::abs(a.center.y_mm - b.center.y_mm)});
}

}  // namespace

TEST_CASE("circle fit: exact recovery from full circle to 5 degrees, 3 points to 20000", "[fit][circle]") {
  const Circle truth{{3, -7}, 12.5};
  for (const double degrees : {360.0, 180.0, 90.0, 30.0, 5.0})
    for (const int n : {3, 4, 12, 257, 20000}) {
      INFO(degrees << " deg, n " << n);
      const auto fit = fit_circle(arc(n, degrees, truth));
      REQUIRE(fit);
      // rounding of the points (2e-15 of R) times how far a short arc magnifies it
      const double h = std::min(kPi, rad(degrees / 2));
      CHECK(worst(fit->circle, truth) < 1e-14 * truth.radius_mm * 40 / (h * h));
      CHECK(fit->rms_mm < 1e-14 * truth.radius_mm);
    }
}

TEST_CASE("circle fit: the step's gradient and Hessian agree with differences", "[fit][circle]") {
  const auto points = arc(40, 200, {{1, 2}, 5}, 0.3, 7);
  std::vector<double> weights;
  for (int i = 0; i < 40; ++i) weights.push_back(0.5 + 0.05 * i);
  AnchoredCircle c;
  c.reference = {0.5, 1.0};
  c.normal = Eigen::Vector2d(3, 4).normalized();
  c.anchor = Eigen::Vector2d(0.6, 1.2) + 5.1 * c.normal;
  c.radius_mm = 5.1;
  // shift, turn about the anchor, change of curvature: as defined in circle_sums.hpp
  const auto moved = [&](const Eigen::Vector3d& s) {
    AnchoredCircle m = c;
    m.anchor += s[0] * c.normal;
    m.normal = Eigen::Rotation2Dd(s[1]) * c.normal;
    m.radius_mm = 1 / (1 / c.radius_mm + s[2]);
    return m;
  };
  for (const bool shallow : {false, true})
    for (const bool weighted : {false, true}) {
      const auto half_chi2 = [&](const Eigen::Vector3d& s) {
        return 0.5 * circle_sums(points, weighted ? weights : std::vector<double>{}, moved(s), shallow).chi2;
      };
      const CircleSums at = circle_sums(points, weighted ? weights : std::vector<double>{}, c, shallow);
      const Eigen::Vector3d h(1e-4, 1e-4, 1e-5);
      for (int i = 0; i < 3; ++i) {
        const Eigen::Vector3d ei = h[i] * Eigen::Vector3d::Unit(i);
        CHECK(at.gradient[i] == Approx((half_chi2(ei) - half_chi2(-ei)) / (2 * h[i])).epsilon(1e-5));
        for (int j = 0; j < 3; ++j) {
          const Eigen::Vector3d ej = h[j] * Eigen::Vector3d::Unit(j);
          const double second =
              (half_chi2(ei + ej) - half_chi2(ei - ej) - half_chi2(ej - ei) + half_chi2(-ei - ej)) /
              (4 * h[i] * h[j]);
          CHECK(at.hessian(i, j) == Approx(second).epsilon(1e-4).margin(1e-3));
        }
      }
    }
}

TEST_CASE("circle fit: the gradient is zero at the answer", "[fit][circle]") {
  const auto points = arc(50, 120, {{3, -7}, 10}, 0.05, 3);
  const auto fit = fit_circle(points);
  REQUIRE(fit);
  Eigen::Vector3d g(0, 0, 0);
  for (const PartPoint& p : points) {
    const Eigen::Vector2d d = p.vec() - fit->circle.center.vec();
    const double f = d.norm() - fit->circle.radius_mm;
    g += f * Eigen::Vector3d(d.x() / d.norm(), d.y() / d.norm(), 1);
  }
  CHECK(g.norm() < 1e-12);
}

TEST_CASE("circle fit: turns, shifts, scales and the order of the points change nothing else",
          "[fit][circle]") {
  auto points = arc(60, 250, {{3, -7}, 10}, 0.02, 5);
  const auto fit = fit_circle(points);
  REQUIRE(fit);
  std::mt19937 random(9);
  std::shuffle(points.begin(), points.end(), random);
  CHECK(worst(fit_circle(points)->circle, fit->circle) < 1e-13);
  const double c = std::cos(1.1), s = std::sin(1.1);
  auto turned = points;
  for (PartPoint& p : turned) p = {c * p.x_mm - s * p.y_mm, s * p.x_mm + c * p.y_mm};
  CHECK(fit_circle(turned)->circle.radius_mm == Approx(fit->circle.radius_mm).epsilon(1e-14));
  CHECK(fit_circle(turned)->ssq == Approx(fit->ssq).epsilon(1e-10));
  for (const double scale : {1e-10, 1e-3, 25.4, 1e8}) {  // R from 1e-9 to 1e9
    auto scaled = points;
    for (PartPoint& p : scaled) p = {scale * p.x_mm, scale * p.y_mm};
    const auto big = fit_circle(scaled);
    REQUIRE(big);
    INFO("scale " << scale);
    CHECK(std::abs(big->circle.radius_mm / scale - fit->circle.radius_mm) < 1e-13 * fit->circle.radius_mm);
  }
}

TEST_CASE("circle fit: an offset of 1e6 R costs nothing but the rounding of the input", "[fit][circle]") {
  const auto points = arc(24, 360, {{0, 0}, 5}, 0.01, 2);
  std::vector<PartPoint> far, back;
  for (const PartPoint& p : points) {
    far.push_back({p.x_mm + 5e6, p.y_mm - 5e6});
    back.push_back(
        {far.back().x_mm - 5e6, far.back().y_mm + 5e6});  // exact: the same rounded points near the origin
  }
  const auto a = fit_circle(far), b = fit_circle(back);
  REQUIRE(a);
  CHECK(std::abs(a->circle.radius_mm - b->circle.radius_mm) < 1e-11 * 5);
  CHECK(std::abs(a->circle.center.x_mm - 5e6 - b->circle.center.x_mm) <
        2e-9);  // half a unit in the last place of 5e6
}

TEST_CASE("circle fit: equal sigmas give the same circle and scale the covariance, unequal ones weigh",
          "[fit][circle]") {
  const auto points = arc(30, 200, {{1, 1}, 8}, 0.02, 4);
  const auto plain = fit_circle(points);
  const auto equal = fit_circle(points, std::vector<double>(30, 0.02));
  REQUIRE(equal);
  CHECK(worst(equal->circle, plain->circle) < 1e-12);
  CHECK(equal->chi2 == Approx(plain->ssq / (0.02 * 0.02)));
  CHECK(equal->ssq == Approx(plain->ssq));
  CHECK((equal->cofactor - 0.0004 * plain->cofactor).norm() < 1e-12);
  // three sharp points and many loose ones that are moved: the sharp ones decide
  auto moved = points;
  std::vector<double> sigma(30, 1.0);
  for (const std::size_t i : {0u, 15u, 29u}) sigma[i] = 1e-6;
  const auto weighted = fit_circle(moved, sigma);
  REQUIRE(weighted);
  const auto three = fit_circle(std::vector<PartPoint>{points[0], points[15], points[29]});
  CHECK(worst(weighted->circle, three->circle) < 1e-6);
}

// 20000 circles a row, fixed seeds. Bound: Kanatani-Cramer-Rao, first order (tests/data/fits/certified.json
// kcr_circle). Statistical error of the ratio 1 %.
TEST_CASE("circle fit: mean square error at the bound, stated standard deviation true",
          "[fit][circle][statistics]") {
  for (const double degrees : {360.0, 90.0}) {
    double square = 0, stated = 0, bias = 0;
    const int trials = 20000, n = 20;
    for (int k = 0; k < trials; ++k) {
      const auto fit = fit_circle(arc(n, degrees, {{0, 0}, 10}, 0.01, static_cast<unsigned>(k)));
      REQUIRE(fit);
      const double e = fit->circle.radius_mm - 10;
      square += e * e, bias += e;
      stated += fit->cofactor(2, 2) * fit->sigma_mm * fit->sigma_mm;
    }
    const auto exact = fit_circle(arc(n, degrees, {{0, 0}, 10}));
    const double bound = 1e-4 * exact->cofactor(2, 2);
    INFO(degrees << " deg");
    CHECK(square / trials / bound == Approx(1).margin(0.03));
    CHECK(stated / trials / bound == Approx(1).margin(0.03));
    CHECK(std::abs(bias / trials) < 0.03 * std::sqrt(bound));
  }
}

TEST_CASE("circle fit: refusals by code", "[fit][circle]") {
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  const auto code = [](std::vector<PartPoint> p, std::vector<double> s = {}) {
    return fit_circle(p, s).error().code;
  };
  CHECK(code({}) == ErrorCode::kTooFewPoints);
  CHECK(code({{0, 0}, {1, 0}}) == ErrorCode::kTooFewPoints);
  CHECK(code({{0, 0}, {1, 0}, {1, 0}, {0, 0}}) == ErrorCode::kTooFewPoints);
  CHECK(code({{0, 0}, {1, 0}, {2, 0}}) == ErrorCode::kCollinear);
  CHECK(code({{0.1, 0.1}, {0.2, 0.2}, {0.3, 0.3}, {0.7, 0.7}}) == ErrorCode::kCollinear);
  CHECK(code({{0, 0}, {1, 0}, {0, nan}}) == ErrorCode::kNotFinite);
  CHECK(code({{0, 0}, {inf, 0}, {0, 1}}) == ErrorCode::kNotFinite);
  CHECK(code({{0, 0}, {1, 0}, {0, 1}}, {1, 1}) == ErrorCode::kBadArgument);
  CHECK(code({{0, 0}, {1, 0}, {0, 1}}, {1, 0, 1}) == ErrorCode::kBadArgument);
  CHECK(code({{0, 0}, {1, 0}, {0, 1}}, {1, nan, 1}) == ErrorCode::kBadArgument);
  // a bad point among very many, where the start looks at some of them only
  auto many = arc(100000, 360, {{0, 0}, 5}, 0.01);
  many[77777].y_mm = nan;
  CHECK(code(many) == ErrorCode::kNotFinite);
}

TEST_CASE("circle fit: a zigzag along a line has no circle", "[fit][circle]") {
  std::vector<PartPoint> zigzag;
  for (int i = 0; i < 20; ++i) zigzag.push_back({0.1 * i, i % 2 ? 0.01 : -0.01});
  const auto fit = fit_circle(zigzag);
  if (fit) CHECK(fit->circle.radius_mm > 10);  // the alternation ends unevenly: at most a very flat circle
}
