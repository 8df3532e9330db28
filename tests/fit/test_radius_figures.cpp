// Single figures of the radius and the verdict, each worked by hand from the formula named beside it.
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "rondure/fit/form_radius.hpp"
#include "rondure/fit/harmonics.hpp"
#include "rondure/fit/verdict.hpp"

using namespace rondure;

namespace {
// Four readings square to each other, alternately e outside and inside radius 5: the residuals of the circle are +-e.
std::vector<PartPoint> four(double e) { return {{5 + e, 0}, {0, 5 - e}, {-5 - e, 0}, {0, -5 + e}}; }
FormRadiusOptions round_part() {
  FormRadiusOptions o;
  o.form = FormKind::kNone;
  return o;
}
const Circle kCircle{{0, 0}, 5};
}  // namespace

TEST_CASE("radius: with one degree of freedom u carries Student's factor", "[fit][radius]") {
  // s = sqrt(4 e^2 / 1), u(R) = s/2 = e; t 0.975 with 1 degree of freedom is 12.706 (GUM table G.2), the normal law's 1.960
  const auto r = estimate_radius(four(0.001), {}, kCircle, round_part());
  CHECK(r.dof == Approx(1));
  CHECK(r.u_mm() == Approx(0.001 * 12.706 / 1.960).epsilon(1e-3));
}

TEST_CASE("radius: a stated sigma is joined by the rounding of the digits", "[fit][radius]") {
  auto o = round_part();
  o.sigma_mm = 0.001, o.resolution_mm = 0.01;
  const auto r = estimate_radius(four(0), {}, kCircle, o);
  CHECK(r.u_mm() == Approx(0.5 * std::sqrt(1e-6 + 1e-4 / 12)).epsilon(1e-6));
}

TEST_CASE("radius: a two-point diameter is weighed by its own u", "[fit][radius]") {
  auto o = round_part();
  o.sigma_mm = 0.010;  // four readings: R = 5.000 +- 0.005
  OutlineReading calliper;
  calliper.first = {10.020, 0.002};  // 5.010 +- 0.001: 25 times the weight
  const auto r = estimate_radius(four(0), {}, kCircle, o, std::vector{calliper});
  CHECK(r.radius_mm == Approx((5.000 + 25 * 5.010) / 26).epsilon(1e-5));
  CHECK(r.u_mm() == Approx(0.005 / std::sqrt(26.0)).epsilon(1e-2));
}

TEST_CASE("radius: a chord on an oval part agrees with the points that show the oval", "[fit][radius]") {
  // r = 6 (1 + 0.003 cos 2f) seen over 220 degrees; chord and sagitta of the same curve about f = 0.
  const auto radius = [](double f) { return 6 * (1 + 0.003 * std::cos(2 * f)); };
  std::vector<PartPoint> points;
  for (int d = -110; d <= 110; d += 5)
    points.push_back({radius(rad(d)) * std::cos(rad(d)), radius(rad(d)) * std::sin(rad(d))});
  const double f = rad(55);
  OutlineReading chord;
  chord.kind = OutlineReading::Kind::kChord;
  chord.first = {2 * radius(f) * std::sin(f), 0.0002};
  chord.second = {radius(0) - radius(f) * std::cos(f), 0.0002};
  FormRadiusOptions o;
  o.sigma_mm = 0.0005;
  const auto circle = fit_circle(points);
  REQUIRE(circle);
  const auto alone = estimate_radius(points, {}, circle->circle, o);
  const auto both = estimate_radius(points, {}, circle->circle, o, std::vector{chord});
  CHECK(alone.radius_mm == Approx(6).margin(0.003));
  CHECK(both.radius_mm == Approx(6).margin(0.003));
}

TEST_CASE("harmonics: the noise's share is taken off the amplitude", "[fit][harmonics]") {
  // 12 readings of a 3-lobed part: the variance of each coefficient is 2 sigma^2 / n (orthogonal columns)
  std::vector<PartPoint> points;
  for (int i = 0; i < 12; ++i) {
    const double t = rad(30 * i), r = 5 + 0.010 * std::cos(3 * t);
    points.push_back({r * std::cos(t), r * std::sin(t)});
  }
  FormRadiusOptions o;
  o.sigma_mm = 0.006;
  for (const HarmonicEstimate& h : analyse_harmonics(points, {}, kCircle, o).harmonics)
    if (h.upr == 3) {
      CHECK(h.amplitude_mm == Approx(0.010).epsilon(0.01));
      CHECK(h.corrected_mm == Approx(std::sqrt(1e-4 - 2 * 2 * 36e-6 / 12)).epsilon(0.02));
    }
}

TEST_CASE("verdict: half-way cases are not called round, even mixtures are irregular", "[fit][verdict]") {
  OvalityEstimate ovality;
  ovality.mean_radius_mm = 6, ovality.ovality95_mm = {0, 0.001};
  HarmonicAnalysis lobes;
  for (int k = 2; k <= 5; ++k) {
    HarmonicEstimate h;
    h.upr = k;
    lobes.harmonics.push_back(h);
  }
  ovality.p_round = 0.5;
  CHECK(judge(ovality, lobes, false).form == OutlineForm::kRound);
  ovality.p_round = 0.045;  // between kFalseOval and 0.05
  CHECK(judge(ovality, lobes, false).form == OutlineForm::kUndecided);
  ovality.p_round = 0.5;
  for (int k = 1; k <= 3; ++k) lobes.harmonics[k].p_zero = 1e-9, lobes.harmonics[k].corrected_mm = 0.01;
  CHECK(judge(ovality, lobes, false).form ==
        OutlineForm::kIrregular);  // three lobes of a third of the power each
  lobes.harmonics[1].corrected_mm = 0.03;
  const Verdict three = judge(ovality, lobes, false);
  CHECK(three.form == OutlineForm::kLobed);
  CHECK(three.upr == 3);
}
