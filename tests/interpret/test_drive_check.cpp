#include <catch2/catch.hpp>

#include "rondure/interpret/drive_check.hpp"

using namespace rondure;

TEST_CASE("drive check: the diameter meets the ratio and the speed exactly", "[interpret][drive]") {
  DriveCheck belt;
  belt.belt_mm = 0.5;
  belt.mating_mm = Estimate{30, 0.02};
  belt.ratio = Estimate{2.45, 0.01};
  const auto d = diameter_from_drive(belt);
  REQUIRE(d);
  CHECK((30 + 0.5) / (d->value + 0.5) == Approx(2.45).epsilon(1e-14));
  CHECK(drive_error_ratio(belt, d->value) == Approx(0).margin(1e-14));

  DriveCheck speed;
  speed.surface_speed_mm_s = Estimate{kPi * 12.5 * 2, 0};
  speed.turns_per_second = Estimate{2, 0};
  const auto e = diameter_from_drive(speed);
  REQUIRE(e);
  CHECK(e->value == Approx(12.5).epsilon(1e-14));
  CHECK(e->u == Approx(12.5 * kRatioMet_ratio));
}

TEST_CASE("drive check: the uncertainty is the first-order one", "[interpret][drive]") {
  DriveCheck check;
  check.belt_mm = 0.4;
  check.mating_mm = Estimate{25, 0.05};
  check.ratio = Estimate{1.9, 0.02};
  const auto at = [&](double m, double i) {
    DriveCheck c = check;
    c.mating_mm->value = m;
    c.ratio->value = i;
    return diameter_from_drive(c)->value;
  };
  const double h = 1e-6;
  const double by_m = (at(25 + h, 1.9) - at(25 - h, 1.9)) / (2 * h),
               by_i = (at(25, 1.9 + h) - at(25, 1.9 - h)) / (2 * h);
  CHECK(diameter_from_drive(check)->u == Approx(std::hypot(by_m * 0.05, by_i * 0.02)).epsilon(1e-6));
}

// Source: the project's trade facts, section 6: a 1 % small pulley is a 1 % speed error; 0.02 mm on 8 mm is
// 0.25 %.
TEST_CASE("drive check: a small pulley is a speed error of the same share", "[interpret][drive]") {
  DriveCheck check;
  check.mating_mm = Estimate{8, 0};
  check.ratio = Estimate{1, 0};
  CHECK(drive_error_ratio(check, 7.92) == Approx(0.0101).margin(1e-4));
  CHECK(drive_error_ratio(check, 7.98) == Approx(0.0025).margin(1e-5));
}

TEST_CASE("drive check: refusals", "[interpret][drive]") {
  CHECK(diameter_from_drive({}).error().code == ErrorCode::kBadArgument);
  DriveCheck thick;
  thick.belt_mm = 5;
  thick.mating_mm = Estimate{3, 0};
  thick.ratio = Estimate{10, 0};
  CHECK(diameter_from_drive(thick).error().code == ErrorCode::kBadArgument);
}
