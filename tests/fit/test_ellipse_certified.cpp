// The orthogonal-distance ellipse against 50-digit answers (tests/data/fits/certified.json; sources in each
// set's header).
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "reference_sets.hpp"
#include "rondure/fit/ellipse_fit.hpp"

using namespace rondure;

namespace {
double axis_difference(double a, double b) {
  const double d = wrap_axis_rad(a - b);
  return std::min(d, kPi - d);
}
}  // namespace

TEST_CASE("ellipse fit: agrees with every certified set to 1e-9 of the long axis", "[fit][ellipse]") {
  int compared = 0;
  for (const auto& [name, set] : test::certified()["sets"].items()) {
    const auto& want = set["ellipse"].value("geometric", nlohmann::json::object());
    if (!want.contains("a")) continue;
    INFO(name);
    const auto fit = fit_ellipse(test::set_points(name));
    REQUIRE(fit);
    const double a = want["a"], b = want["b"];
    const auto near = [&](double value, const char* key, const char* sd) {
      return std::abs(value - want[key].get<double>()) <=
             kEllipseFitAgreement * a + 1e-6 * want.value(sd, 0.0);
    };
    CHECK(near(fit->ellipse.semi_major_mm, "a", "sd_a"));
    CHECK(near(fit->ellipse.semi_minor_mm, "b", "sd_b"));
    CHECK(near(fit->ellipse.center.x_mm, "cx", "sd_cx"));
    CHECK(near(fit->ellipse.center.y_mm, "cy", "sd_cy"));
    if (!want["theta_rad"].is_null() && (a - b) / a > 1e-6)
      CHECK(axis_difference(fit->ellipse.major_axis_rad, want["theta_rad"]) <=
            1e-9 * a / (a - b) + 1e-6 * want.value("sd_theta", 0.0));
    CHECK(fit->ssq == Approx(want["ssq"].get<double>()).epsilon(1e-6).margin(1e-20 * a * a));
    // Standard deviations, but where the set is exact or the arc too short for the arithmetic.
    if (name == "stress_arc05" || want["ssq"].get<double>() < 1e-16 * a * a) continue;
    if (want.contains("sd_cx")) {
      CHECK(fit->sigma_mm * std::sqrt(fit->cofactor(0, 0)) ==
            Approx(want["sd_cx"].get<double>()).epsilon(1e-5));
      CHECK(fit->sigma_mm * std::sqrt(fit->cofactor(1, 1)) ==
            Approx(want["sd_cy"].get<double>()).epsilon(1e-5));
    }
    ++compared;
  }
  CHECK(compared > 30);
}

TEST_CASE("ellipse fit: sets through which no ellipse fits are refused by their code", "[fit][ellipse]") {
  int refused = 0;
  for (const auto& [name, set] : test::certified()["sets"].items()) {
    const auto& ellipse = set["ellipse"];
    const auto fit = fit_ellipse(test::set_points(name));
    INFO(name);
    if (ellipse.contains("geometric") && ellipse["geometric"].contains("a")) continue;
    REQUIRE_FALSE(fit);
    ++refused;
    if (ellipse.contains("geometric"))
      CHECK(fit.error().code == ErrorCode::kNoEllipse);
    else if (set["distinct_points"].get<int>() < 5)
      CHECK(fit.error().code == ErrorCode::kTooFewPoints);
    else
      CHECK(fit.error().code == ErrorCode::kCollinear);
  }
  CHECK(refused > 15);
}

TEST_CASE("nearest point of an ellipse: agrees with the 50-digit distances", "[fit][ellipse]") {
  const auto& cases = test::certified()["ellipse_distance"]["cases"];
  REQUIRE(cases.size() >= 5);
  for (const auto& c : cases) {
    const Ellipse e{{0, 0}, c["a"], c["b"], 0};
    INFO(c.dump());
    const EllipseFoot foot = nearest_point(e, {c["x"], c["y"]});
    const double size = e.semi_major_mm;
    CHECK(std::abs(foot.distance_mm) == Approx(c["distance"].get<double>()).margin(1e-13 * size));
    CHECK((foot.distance_mm < 0) == c["inside"].get<bool>());
    CHECK(std::abs(foot.foot.x_mm) == Approx(std::abs(c["foot_x"].get<double>())).margin(1e-12 * size));
    CHECK(std::abs(foot.foot.y_mm) == Approx(std::abs(c["foot_y"].get<double>())).margin(1e-12 * size));
  }
}
