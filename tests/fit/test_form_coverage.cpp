// The studies of tests/bench at a fraction of their size: fixed seeds, 400 parts a row. Bounds: a true rate of 93 % gives
// fewer than 353 of 400 with a chance of 4e-4, one of 99 % more than 399.5 never; likewise for the others.
#include <algorithm>
#include <catch2/catch.hpp>

#include "fit/simulated_part.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/ellipse_fit.hpp"
#include "rondure/fit/form_radius.hpp"
#include "rondure/fit/harmonics.hpp"
#include "rondure/fit/ovality.hpp"
#include "rondure/fit/verdict.hpp"

using namespace rondure;
using simulated::Part;
using simulated::Random;
using simulated::Reading;

namespace {
constexpr int kParts = 400;

void form_by_law(Part& part, Random& random) {
  if (simulated::uniform(random, 0, 3) < 1) return;
  simulated::add_form(part, 2e-4 * std::pow(15.0, simulated::uniform(random, 0, 1)), 2, 8, random);
}

struct ArcRead {
  int points;
  double arc_deg, noise_ratio;  // of the radius
  bool noise_told = false;
};

// How many of `count` random parts, each given its form by `shape`, lie in their interval (one without an upper limit too).
template <class Shape>
int held_over_arc(int count, unsigned seed, const Shape& shape, const ArcRead& read) {
  Random random(seed);
  int held = 0;
  for (int i = 0; i < count; ++i) {
    Part part = simulated::random_part(random);
    shape(part, random);
    Reading how;
    how.points = read.points, how.arc_deg = read.arc_deg, how.step_mm = 0;
    how.sigma_mm = read.noise_ratio * part.radius_mm;
    const auto points = simulated::read(part, how, random);
    FormRadiusOptions options;
    if (read.noise_told) options.sigma_mm = how.sigma_mm;
    const auto interval = estimate_radius(points, {}, fit_circle(points)->circle, options).radius95_mm();
    held += !interval || interval->contains(part.radius_mm);
  }
  return held;
}

void half_a_percent_oval(Part& part, Random&) { part.oval_ratio = 5e-3; }
void five_lobes(Part& part, Random& random) { simulated::add_lobe(part, 5, 1e-3, random); }
}  // namespace

TEST_CASE("radius: 95 % intervals hold over parts of unknown form", "[fit][form][coverage][repeats]") {
  for (const auto& [n, arc_deg] :
       {std::pair{24, 360.0}, std::pair{8, 360.0}, std::pair{24, 180.0}, std::pair{24, 60.0}}) {
    for (const bool told : {true, false}) {
      Random random(static_cast<unsigned>(9000 + n + arc_deg + told));
      int held = 0;
      for (int i = 0; i < kParts; ++i) {
        Part part = simulated::random_part(random);
        form_by_law(part, random);
        Reading how;
        how.points = n, how.arc_deg = arc_deg;
        const auto points = simulated::read(part, how, random);
        FormRadiusOptions options;
        options.resolution_mm = how.step_mm;
        if (told) options.sigma_mm = how.sigma_mm;
        const auto interval = estimate_radius(points, {}, fit_circle(points)->circle, options).radius95_mm();
        held += interval && interval->contains(part.radius_mm);
      }
      INFO(n << " points over " << arc_deg << " deg, sigma told " << told);
      CHECK(held >= 353);
      CHECK(held < kParts);
    }
  }
}

TEST_CASE("radius: on round parts the noise alone gives 95 %", "[fit][form][coverage]") {
  for (const auto& [n, arc_deg] : {std::pair{12, 360.0}, std::pair{24, 90.0}, std::pair{10, 20.0}}) {
    Random random(static_cast<unsigned>(100 + n + arc_deg));
    int held = 0;
    for (int i = 0; i < kParts; ++i) {
      const Part part = simulated::random_part(random);
      Reading how;
      how.points = n, how.arc_deg = arc_deg;
      const auto points = simulated::read(part, how, random);
      FormRadiusOptions options;
      options.form = FormKind::kNone;
      const auto interval = estimate_radius(points, {}, fit_circle(points)->circle, options).radius95_mm();
      held += interval && interval->contains(part.radius_mm);
    }
    INFO(n << " points over " << arc_deg << " deg");
    CHECK(held >= 361);  // 94 %: fewer with a chance of 6e-4
    CHECK(held <= 397);  // 96 %: more with a chance of 1e-4
  }
}

// 2026-11-30: with the mass of five lobes that more readings have, 89.5 % of 4,000; such parts look moved aside.
TEST_CASE("radius: five lobes on six readings, the noise told", "[fit][form][coverage][repeats]") {
  constexpr int kSixes =
      3000;  // 91 %: true rates of 92.5 and 89.5 % pass and fail but for a chance of 1e-3 and 4e-3
  Random random(606);
  int held = 0;
  for (int i = 0; i < kSixes; ++i) {
    Part part = simulated::random_part(random);
    simulated::add_lobe(part, 5, 2.5e-4, random);
    Reading how;
    how.points = 6, how.sigma_mm = 1e-4 * part.radius_mm, how.step_mm = 0;
    const auto points = simulated::read(part, how, random);
    FormRadiusOptions options;
    options.sigma_mm = how.sigma_mm;
    held += estimate_radius(points, {}, fit_circle(points)->circle, options)
                .radius95_mm()
                ->contains(part.radius_mm);
  }
  CHECK(held >= 0.91 * kSixes);
}

// 2026-11-30: the belief in ovals made this half-width 0.0053 of R in the middle part.
TEST_CASE("radius: five lobes plainly seen over an arc are not left open for an oval", "[fit][form]") {
  Random random(505);
  std::vector<double> half_width;
  for (int i = 0; i < 61; ++i) {
    Part part = simulated::random_part(random);
    simulated::add_lobe(part, 5, 1e-3, random);
    Reading how;
    how.points = 24, how.arc_deg = 120, how.sigma_mm = 3e-4 * part.radius_mm, how.step_mm = 0;
    const auto points = simulated::read(part, how, random);
    half_width.push_back(estimate_radius(points, {}, fit_circle(points)->circle, {}).radius95_mm()->width() /
                         2 / part.radius_mm);
  }
  std::nth_element(half_width.begin(), half_width.begin() + 30, half_width.end());
  CHECK(half_width[30] < 0.0047);
}

// Of these 2,000, 92.3 % were held by the weights of kinds before 2026-11-30 and 94.6 % since; 0.5 % is the standard deviation of
// chance between samples, but this one's seed is fixed.
TEST_CASE("radius: an oval of 0.5 % over 120 degrees, the noise told", "[fit][form][coverage][repeats]") {
  CHECK(held_over_arc(2000, 607, half_a_percent_oval, {24, 120, 3e-4, true}) >= 0.935 * 2000);
}

// Arcs shorter than 60 degrees had the weights of 60, by which five lobes end early: 540 of these 600 were held (86.3 % of 600 others
// in study_readings_coverage), 582 since.
TEST_CASE("radius: five lobes over 45 degrees", "[fit][form][coverage][repeats]") {
  CHECK(held_over_arc(600, 608, five_lobes, {50, 45, 3e-4}) >= 0.92 * 600);
}

// With weights that did not go by the size of the form, and were found without such noise, 873 of these were held, 939 since.
TEST_CASE("radius: an oval of 0.5 % over 240 degrees, coarse readings", "[fit][form][coverage][repeats]") {
  CHECK(held_over_arc(1000, 609, half_a_percent_oval, {50, 240, 3e-3}) >= 0.9 * 1000);
}

// 1.3 times who knows that the part is round is asked for. His half-width is 0.00015 of R, ours 0.00021 before a kind that the
// points show ended sooner, 0.000189 since ovals of 0.5 % in coarse readings hold too.
TEST_CASE("radius: a round part over 240 degrees, the noise told, is nearly as sure as if known to be round",
          "[fit][form]") {
  Random random(506);
  std::vector<double> open, known;
  for (int i = 0; i < 121; ++i) {
    const Part part = simulated::random_part(random);
    Reading how;
    how.points = 24, how.arc_deg = 240, how.sigma_mm = 3e-4 * part.radius_mm, how.step_mm = 0;
    const auto points = simulated::read(part, how, random);
    const Circle circle = fit_circle(points)->circle;
    FormRadiusOptions options;
    options.sigma_mm = how.sigma_mm;
    for (auto* half_width : {&open, &known}) {
      options.form = half_width == &known ? FormKind::kNone : FormKind::kEstimate;
      half_width->push_back(estimate_radius(points, {}, circle, options).radius95_mm()->width() / 2 /
                            part.radius_mm);
    }
  }
  for (auto* half_width : {&open, &known})
    std::nth_element(half_width->begin(), half_width->begin() + 60, half_width->end());
  INFO(open[60] << " and " << known[60]);
  CHECK(open[60] < 1.3 * known[60]);
}

TEST_CASE("ovality: intervals hold, round parts are not called oval, lobed ones neither",
          "[fit][ovality][coverage]") {
  for (const int lobes : {0, 3}) {
    for (const double oval : {0.0, 5e-3}) {
      Random random(static_cast<unsigned>(500 + lobes + 1e4 * oval));
      int held = 0, said_oval = 0, said_something = 0;
      for (int i = 0; i < kParts; ++i) {
        Part part = simulated::random_part(random);
        part.oval_ratio = oval;
        if (lobes) simulated::add_lobe(part, lobes, 1e-3, random);
        Reading how;
        const auto points = simulated::read(part, how, random);
        FormRadiusOptions options;
        options.resolution_mm = how.step_mm;
        const auto ellipse = fit_ellipse(points);
        REQUIRE(ellipse);
        const auto ovality = estimate_ovality(points, {}, *ellipse, options);
        REQUIRE(ovality);
        held += ovality->ovality95_mm.contains(oval * part.radius_mm);
        said_oval += ovality->p_round < 0.05;
        if (lobes == 0 && oval == 0) {
          const auto harmonics = analyse_harmonics(points, {}, fit_circle(points)->circle, options);
          const OutlineForm form = judge(*ovality, harmonics, false).form;
          said_something += is_told(form) && form != OutlineForm::kRound;
        }
      }
      INFO(lobes << " lobes, oval " << oval);
      CHECK(held >= 361);
      if (oval == 0) {
        CHECK(said_oval <= 39);       // 6 %: more with a chance of 1e-3
        CHECK(said_oval >= 4);        // 4 %: fewer with a chance of 2e-4
        CHECK(said_something <= 34);  // 5 %: more with a chance of 1e-3
      } else {
        CHECK(said_oval == kParts);
      }
    }
  }
}
