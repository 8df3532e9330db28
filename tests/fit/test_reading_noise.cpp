// What is believed of the noise of a reading that was not told.
#include <catch2/catch.hpp>

#include "fit/simulated_part.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/ellipse_fit.hpp"
#include "rondure/fit/form_radius.hpp"
#include "rondure/fit/ovality.hpp"

using namespace rondure;

TEST_CASE("reading noise: digits typed beyond the scatter do not narrow the interval", "[fit][form]") {
  simulated::Random random(11);
  simulated::Part part;
  simulated::Reading how;
  how.points = 12, how.sigma_mm = 0.004, how.step_mm = 0;
  const auto points = simulated::read(part, how, random);
  const auto width = [&](double step_mm) {
    FormRadiusOptions options;
    options.resolution_mm = step_mm;
    return estimate_radius(points, {}, fit_circle(points)->circle, options).radius95_mm()->width();
  };
  CHECK(width(1e-4) == Approx(width(1e-3)).epsilon(0.05));
  CHECK(width(1e-7) == Approx(width(1e-3)).epsilon(0.05));
}

TEST_CASE("reading noise: a dozen readings of a round part, 300 parts, seed 12", "[fit][form]") {
  simulated::Random random(12);
  int held = 0;
  for (int i = 0; i < 300; ++i) {
    const simulated::Part part = simulated::random_part(random);
    simulated::Reading how;
    how.points = 12, how.sigma_mm = 0.004, how.step_mm = 1e-4;
    const auto points = simulated::read(part, how, random);
    FormRadiusOptions options;
    options.resolution_mm = how.step_mm;
    held += estimate_radius(points, {}, fit_circle(points)->circle, options)
                .radius95_mm()
                ->contains(part.radius_mm);
  }
  CHECK(held >= 276);  // 92 %; before, 77 %
}

// 2026-11-30: a gap of 90 degrees gives the ovality random form beside the noise, and coarse scatter was taken for that form.
TEST_CASE(
    "reading noise: a dozen coarse readings with a gap, a round part is not called oval, 400 parts, seed 13",
    "[fit][ovality]") {
  simulated::Random random(13);
  int called = 0;
  for (int i = 0; i < 400; ++i) {
    const simulated::Part part = simulated::random_part(random);
    simulated::Reading how;
    how.points = 12, how.arc_deg = 270, how.sigma_mm = 3e-3 * part.radius_mm, how.step_mm = 1e-4;
    const auto points = simulated::read(part, how, random);
    const auto ellipse = fit_ellipse(points);
    REQUIRE(ellipse);
    FormRadiusOptions options;
    options.resolution_mm = how.step_mm;
    const auto ovality = estimate_ovality(points, {}, *ellipse, options);
    REQUIRE(ovality);
    called += ovality->p_round < 0.05;
  }
  CHECK(called <= 28);  // 7 %
}
