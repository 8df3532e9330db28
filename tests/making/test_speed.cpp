#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "rondure/making/speed.hpp"

using namespace rondure;
using namespace rondure::plan;

namespace {

std::vector<PartPoint> outline(const std::function<double(double)>& r, int count = 7200,
                               PartPoint axis = {}) {
  std::vector<PartPoint> points;
  for (int k = 0; k < count; ++k) {
    const double t = 2 * kPi * k / count;
    points.push_back({r(t) * std::cos(t) - axis.x_mm, r(t) * std::sin(t) - axis.y_mm});
  }
  return points;
}

std::vector<PartPoint> regular_polygon(int corners, double radius_mm) {
  return outline([&](double) { return radius_mm; }, corners);
}

// Belt drawn off along a fixed line by a polygon that turns: length of belt that has left when the polygon
// has turned by `turn`, found by wrapping it round the corners. The belt ends far away, so that it leaves
// along a tangent.
double wound_length(const std::vector<PartPoint>& polygon, double turn, double far_mm) {
  // the corner that the belt leaves from: largest y in the turned frame; the belt runs off to (far, that y)
  const int n = static_cast<int>(polygon.size());
  const auto turned = [&](int i) {
    const PartPoint& p = polygon[static_cast<std::size_t>(((i % n) + n) % n)];
    return PartPoint{p.x_mm * std::cos(turn) - p.y_mm * std::sin(turn),
                     p.x_mm * std::sin(turn) + p.y_mm * std::cos(turn)};
  };
  int top = 0;
  for (int i = 1; i < n; ++i)
    if (turned(i).y_mm > turned(top).y_mm) top = i;
  // belt from corner 0 round to the top corner, counter-clockwise in the body frame; turning counter-clockwise winds
  // belt up clockwise
  double along = 0;
  for (int i = top; i != 0; i = (i + 1) % n) {
    const PartPoint a = turned(i), b = turned((i + 1) % n);
    along += std::hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
  }
  return along -
         (far_mm - turned(top).x_mm);  // constant aside: belt on the polygon minus belt in the free span
}

}  // namespace

TEST_CASE("speed: support of a polygon equals the direct search over its corners", "[plan][speed]") {
  const std::vector<PartPoint> points = {{3, 0.2}, {1, 2}, {-2, 2.5}, {-3, -1}, {0.5, -2}, {0, 0.5}, {1, 1}};
  const auto p = support_mm(points, 720);
  for (int k = 0; k < 720; ++k) {
    const double psi = 2 * kPi * k / 720;
    double best = -1e9;
    for (const PartPoint& q : points) best = std::max(best, q.x_mm * std::cos(psi) + q.y_mm * std::sin(psi));
    CHECK(p[static_cast<std::size_t>(k)] == Approx(best).epsilon(1e-14));
  }
}

// Derived: a regular polygon of n corners has perimeter 2 n R sin(pi/n) and support between R cos(pi/n) and
// R.
TEST_CASE("speed: regular polygons, mean by perimeter and swing by corner and flat", "[plan][speed]") {
  for (const int n : {3, 4, 5, 6, 8, 12}) {
    const double r = 4;
    const auto e = speed_effect(regular_polygon(n, r), 0);
    REQUIRE(e);
    INFO(n << " corners");
    const double mean = n * r * std::sin(kPi / n) / kPi;
    CHECK(e->circumference_diameter_mm == Approx(2 * mean).epsilon(1e-13));
    CHECK(e->fastest_ratio == Approx(r / mean - 1).epsilon(1e-6));
    CHECK(e->slowest_ratio == Approx(r * std::cos(kPi / n) / mean - 1).margin(1e-6));
    // all the variation is at multiples of n per turn
    for (const SpeedHarmonic& h : e->harmonics)
      if (h.per_turn % n != 0) CHECK(h.amplitude_ratio == Approx(0).margin(1e-12));
  }
}

// The belt followed corner by corner, without the support function.
TEST_CASE("speed: an irregular polygon winds belt at the rate of its support function", "[plan][speed]") {
  const std::vector<PartPoint> polygon = {{4.1, 0.3},  {2.2, 3.1},   {-1.5, 3.8},
                                          {-3.9, 0.9}, {-2.7, -2.9}, {1.2, -3.7}};
  const double step = 1e-5, far = 1000;
  const auto p = support_mm(polygon, 36000);
  int compared = 0;
  for (double turn = 0.013; turn < 2 * kPi; turn += 0.05) {
    const double before = wound_length(polygon, turn - step, far),
                 after = wound_length(polygon, turn + step, far);
    const double rate = std::fabs(after - before) / (2 * step);
    if (rate > 100) continue;  // the start of the count passed the top
    const double psi = std::fmod(kPi / 2 - turn + 4 * kPi, 2 * kPi);
    CHECK(rate ==
          Approx(p[static_cast<std::size_t>(std::lround(psi / (2 * kPi) * 36000)) % 36000]).margin(2e-3));
    ++compared;
  }
  CHECK(compared > 110);
}

TEST_CASE("speed: ellipse by its exact support and perimeter", "[plan][speed]") {
  const double a = 6.1, b = 6.0;
  std::vector<PartPoint> points;
  for (int k = 0; k < 20000; ++k) {
    const double t = 2 * kPi * k / 20000;
    points.push_back({a * std::cos(t), b * std::sin(t)});
  }
  const auto p = support_mm(points, 360);
  for (int k = 0; k < 360; ++k) {
    const double psi = 2 * kPi * k / 360;
    CHECK(p[static_cast<std::size_t>(k)] ==
          Approx(std::hypot(a * std::cos(psi), b * std::sin(psi))).epsilon(1e-7));
  }
  const auto e = speed_effect(points, 0);
  const double h =
      std::pow((a - b) / (a + b), 2);  // perimeter of an ellipse, Ramanujan's second formula (from memory)
  CHECK(e->circumference_diameter_mm ==
        Approx((a + b) * (1 + 3 * h / (10 + std::sqrt(4 - 3 * h)))).epsilon(1e-7));
}

// Derived, trade figures: 8 mm with TIR 0.04 or Dmax - Dmin 0.08 gives +-0.5 %.
TEST_CASE("speed: eccentricity, ovality and lobes to first order", "[plan][speed]") {
  const auto eccentric = speed_effect(outline([](double) { return 4.0; }, 7200, {0.02, 0}), 0);
  CHECK(eccentric->peak_ratio == Approx(0.005).epsilon(1e-4));
  CHECK(eccentric->harmonics[0].amplitude_ratio == Approx(0.005).epsilon(1e-4));
  CHECK(eccentric->rms_ratio == Approx(0.005 / std::sqrt(2.0)).epsilon(1e-4));
  const auto oval = speed_effect(outline([](double t) { return 4 + 0.02 * std::cos(2 * t); }), 0);
  CHECK(oval->peak_ratio == Approx(0.005).epsilon(0.01));
  CHECK(oval->harmonics[1].amplitude_ratio == Approx(0.005).epsilon(0.01));
  const auto lobed = speed_effect(outline([](double t) { return 4 + 0.005 * std::cos(3 * t); }), 0.5);
  CHECK(lobed->harmonics[2].amplitude_ratio == Approx(0.005 / 4.25).epsilon(0.01));
  CHECK(lobed->running_diameter_mm == Approx(8.5).epsilon(1e-4));
}

TEST_CASE("speed: turning the outline changes nothing, belt thickness only dilutes", "[plan][speed]") {
  const auto shape = [](double t) { return 5 + 0.03 * std::cos(2 * t) + 0.01 * std::cos(5 * t + 1); };
  const auto a = speed_effect(outline(shape), 0.4);
  const auto b = speed_effect(outline([&](double t) { return shape(t + 0.7); }), 0.4);
  CHECK(a->peak_ratio == Approx(b->peak_ratio).epsilon(1e-4));
  CHECK(a->circumference_diameter_mm == Approx(b->circumference_diameter_mm).epsilon(1e-7));
  const auto bare = speed_effect(outline(shape), 0);
  CHECK(bare->peak_ratio * bare->running_diameter_mm ==
        Approx(a->peak_ratio * a->running_diameter_mm).epsilon(1e-6));
  // Fastest where the outline reaches farthest from the axis: there the middle of the belt runs at reach + half its
  // thickness, in the mean at half the running diameter.
  double farthest = 0;
  for (double t = 0; t < 2 * kPi; t += 1e-4) farthest = std::max(farthest, shape(t));
  CHECK(a->fastest_ratio == Approx((farthest + 0.2) / (a->running_diameter_mm / 2) - 1).epsilon(1e-3));
}

TEST_CASE("speed: outline of a measured feature carries harmonics, nibs and recesses", "[plan][speed]") {
  Feature f;
  f.name = "outside";
  f.circle = CircleResult{12.0, 0.004, {}, 0.001, {}};
  f.harmonics = {{2, 0.03, 20, 0.001}, {3, 0.0005, 0, 0.001}};
  const auto plain = outline_of(f);
  REQUIRE(plain);
  const auto e = speed_effect(*plain, 0);
  CHECK(e->harmonics[1].amplitude_ratio == Approx(0.03 / 6).epsilon(0.01));
  CHECK(e->harmonics[2].amplitude_ratio < 1e-4);  // below its noise: left out
  f.excluded = {{350, 370, -0.5, 40, {}}};
  CHECK(speed_effect(*outline_of(f), 0)->circumference_diameter_mm < e->circumference_diameter_mm);
  CHECK(speed_effect(*outline_of(f), 0)->circumference_diameter_mm > e->circumference_diameter_mm - 0.1);
  f.excluded = {{350, 370, 0.2, 40, {}}};
  CHECK(speed_effect(*outline_of(f), 0)->fastest_ratio > 0.02);
  f.circle.reset();
  CHECK(outline_of(f).error().code == ErrorCode::kNoAnswer);
}

TEST_CASE("speed: limits of a planned part hold against made outlines at the limits", "[plan][speed]") {
  // an oval that fills the roundness zone (radial width t: semi-axes R +- t/2), turned about an axis off by
  // TIR/2
  const double d = 12.5, run_out = 0.02, roundness = 0.008, belt = 0.5;
  const auto planned = planned_speed(d, {12.48, 12.52}, run_out, roundness, belt);
  CHECK(planned.mean_error_ratio.hi == Approx(0.02 / 13.0));
  const auto made = speed_effect(
      outline([&](double t) { return d / 2 + roundness / 2 * std::cos(2 * t); }, 7200, {run_out / 2, 0}),
      belt);
  CHECK(made->peak_ratio <= planned.peak_ratio * 1.001);
  CHECK(made->peak_ratio > 0.7 * planned.peak_ratio);
  const auto back = tolerances_for_speed(d, belt, 0.02 / 13.0, planned.peak_ratio);
  CHECK(back.diameter_pm_mm == Approx(0.02));
  CHECK(back.run_out_mm + back.roundness_mm == Approx(run_out + roundness));
}

TEST_CASE("speed: refusals", "[plan][speed]") {
  CHECK(speed_effect(std::vector<PartPoint>{{1, 0}, {2, 0}, {3, 0}}, 0).error().code ==
        ErrorCode::kTooFewPoints);
  CHECK(speed_effect(regular_polygon(5, 1), -1).error().code == ErrorCode::kBadArgument);
  CHECK(speed_effect(outline([](double) { return 1.0; }, 100, {2, 0}), 0).error().code ==
        ErrorCode::kBadArgument);
}

// Source: IEC 60386 weighting, from memory (table file's header).
TEST_CASE("speed: audible weight peaks at 4 Hz and is halved near 20 Hz", "[plan][speed]") {
  CHECK(*audible_weight(4) == Approx(1));
  CHECK(*audible_weight(20) == Approx(0.507).epsilon(0.01));
  CHECK(*audible_weight(0.4) == Approx(std::pow(10, -0.75)).epsilon(1e-9));
  CHECK_FALSE(audible_weight(0.01));
  CHECK_FALSE(audible_weight(500));
}
