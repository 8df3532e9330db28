#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "rondure/interpret/running_fit.hpp"

using namespace rondure;

namespace {

PartPoint on_part(double angle_deg, double ovality_mm = 0, double axis_deg = 0) {
  const double t = rad(angle_deg), r = 6 + ovality_mm / 4 * std::cos(2 * (t - rad(axis_deg)));
  return {20 + r * std::cos(t), 11 + r * std::sin(t)};
}

}  // namespace

TEST_CASE("running fit: radius from three readings, ovality when it can be had", "[interpret][running]") {
  RunningFit fit({0.001});
  fit.add(on_part(0));
  fit.add(on_part(50));
  CHECK_FALSE(fit.answer().circle);
  fit.add(on_part(100));
  REQUIRE(fit.answer().circle);
  CHECK(fit.answer().circle->radius_mm == Approx(6));
  CHECK_FALSE(fit.answer().u_radius_mm);
  CHECK_FALSE(fit.answer().ovality_mm);
  CHECK(fit.answer().coverage_deg == Approx(100));
  REQUIRE(fit.answer().next);
  CHECK(fit.answer().next->gap_from_deg == Approx(100));
  CHECK(std::remainder(fit.answer().next->gap_to_deg, 360) == Approx(0).margin(1e-6));
  CHECK(fit.answer().next->at_deg == Approx(230));

  RunningFit oval({0.001});
  for (int i = 0; i < 12; ++i) oval.add(on_part(30 * i, 0.08, 25));
  REQUIRE(oval.answer().ovality_mm);
  CHECK(oval.answer().ovality_mm->value == Approx(0.08).margin(0.001));
  CHECK(oval.answer().ovality_axis_deg == Approx(25).margin(0.5));
  for (const char d : oval.doubted()) CHECK(d == 0);
}

TEST_CASE("running fit: a slip is doubted at once and does not carry the fit", "[interpret][running]") {
  for (const int slip_at : {4, 6, 9}) {
    std::mt19937_64 random(5);
    std::normal_distribution<double> noise(0, 0.002);
    RunningFit fit({0.001});
    for (int i = 0; i < 14; ++i) {
      auto p = on_part(47 * i);
      p.x_mm += noise(random), p.y_mm += noise(random);
      if (i == slip_at) p.x_mm += 10;
      fit.add(p);
      if (i >= slip_at) {
        CHECK(fit.doubted()[std::size_t(slip_at)] == 1);
        CHECK(fit.answer().circle->radius_mm == Approx(6).margin(0.02));
      }
    }
    CHECK(std::count(fit.doubted().begin(), fit.doubted().end(), 1) == 1);
  }
}

TEST_CASE("running fit: a slip among the first three is found when the others speak",
          "[interpret][running]") {
  RunningFit fit({0.001});
  for (int i = 0; i < 8; ++i) {
    auto p = on_part(50 * i);
    if (i == 1) p.y_mm += 1;
    fit.add(p);
  }
  CHECK(fit.doubted()[1] == 1);
  CHECK(std::count(fit.doubted().begin(), fit.doubted().end(), 1) == 1);
  CHECK(fit.answer().circle->radius_mm == Approx(6).margin(1e-6));
}

TEST_CASE("running fit: a confirmed reading is not doubted", "[interpret][running]") {
  RunningFit fit({0.001});
  for (int i = 0; i < 9; ++i) fit.add(on_part(40 * i));
  auto nick = on_part(20);
  nick.x_mm -= 1;
  fit.add(nick, true);
  CHECK(std::count(fit.doubted().begin(), fit.doubted().end(), 1) == 0);
}

TEST_CASE("running fit: good readings of moulded parts are seldom doubted", "[interpret][running]") {
  // 500 parts, ovality up to 1 %, noise 0.002 mm, 16 readings in arbitrary order: share of questioned readings.
  std::mt19937_64 random(11);
  std::normal_distribution<double> noise(0, 0.002);
  std::uniform_real_distribution<double> unit(0, 1);
  int questions = 0, readings = 0;
  for (int part = 0; part < 500; ++part) {
    const double ovality = 0.12 * unit(random), axis = 180 * unit(random);
    RunningFit fit({0.001});
    for (int i = 0; i < 16; ++i) {
      auto p = on_part(360 * unit(random), ovality, axis);
      p.x_mm += noise(random), p.y_mm += noise(random);
      fit.add(p);
      questions += fit.doubted().back();
      ++readings;
    }
  }
  CHECK(questions < 0.01 * readings);
}

TEST_CASE("running fit: on an arc the next reading goes to the ends and the middle", "[interpret][running]") {
  RunningFit fit({0.001, true});
  for (double at : {80.0, 85.0, 90.0, 95.0, 100.0}) fit.add(on_part(at));
  REQUIRE(fit.answer().next);
  int ends = 0, middle = 0;
  for (int i = 0; i < 16; ++i) {
    const double at = fit.answer().next->at_deg;
    CHECK(at >= 79.9);
    CHECK(at <= 100.1);
    ends += std::abs(at - 90) > 8;
    middle += std::abs(at - 90) < 4;
    fit.add(on_part(at));
  }
  CHECK(ends >= 6);
  CHECK(middle >= 4);
  CHECK(ends + middle == 16);
}

TEST_CASE("running fit: readings on a line or in one place give no circle and no harm",
          "[interpret][running]") {
  RunningFit fit;
  for (int i = 0; i < 6; ++i) fit.add({double(i), 2.0 * i});
  CHECK_FALSE(fit.answer().circle);
  RunningFit same;
  for (int i = 0; i < 6; ++i) same.add({1, 1});
  CHECK_FALSE(same.answer().circle);
}
