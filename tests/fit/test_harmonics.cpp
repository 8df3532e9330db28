// Harmonics, the Gaussian filter and the verdict.
#include <catch2/catch.hpp>

#include "fit/simulated_part.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/ellipse_fit.hpp"
#include "rondure/fit/gaussian_filter.hpp"
#include "rondure/fit/harmonics.hpp"
#include "rondure/fit/ovality.hpp"
#include "rondure/fit/verdict.hpp"

using namespace rondure;

namespace {
std::vector<PartPoint> lobed(int n, double arc_deg, int order, double amplitude_mm, double phase_deg,
                             double noise_mm, unsigned seed) {
  simulated::Random random(seed);
  std::vector<PartPoint> points;
  for (int i = 0; i < n; ++i) {
    const double t = rad(arc_deg) * (i + 0.3 * simulated::uniform(random, -1, 1)) / n;
    const double r =
        10 + amplitude_mm * std::cos(order * (t - rad(phase_deg))) + noise_mm * simulated::normal(random);
    points.push_back({5 + r * std::cos(t), -3 + r * std::sin(t)});
  }
  return points;
}
HarmonicAnalysis analyse(const std::vector<PartPoint>& points) {
  return analyse_harmonics(points, {}, fit_circle(points)->circle, {});
}
Verdict verdict_of(const std::vector<PartPoint>& points, double u_lobes_mm = 0) {
  const auto ovality = estimate_ovality(points, {}, *fit_ellipse(points), {});
  return judge(ovality ? std::optional(*ovality) : std::nullopt, analyse(points), false, u_lobes_mm);
}
}  // namespace

TEST_CASE("harmonics: amplitude and phase come back from uneven points", "[fit][harmonics]") {
  const auto analysis = analyse(lobed(40, 360, 3, 0.02, 25, 0, 1));
  REQUIRE(analysis.harmonics.size() >= 5);
  for (const HarmonicEstimate& h : analysis.harmonics) {
    if (h.upr == 3) {
      CHECK(h.amplitude_mm == Approx(0.02).epsilon(0.01));  // second order in amplitude / R
      CHECK(deg(h.phase_rad) == Approx(25).margin(0.2));
    } else {
      CHECK(h.amplitude_mm < 2e-4);
    }
  }
}

TEST_CASE("harmonics: nothing is invented in gaps or from few points", "[fit][harmonics]") {
  CHECK(analyse(lobed(60, 300, 3, 0.01, 0, 0.001, 2)).harmonics.size() <= 7);
  CHECK(analyse(lobed(60, 180, 3, 0.01, 0, 0.001, 2)).harmonics.empty());
  CHECK(analyse(lobed(5, 360, 2, 0.01, 0, 0.001, 2)).harmonics.empty());
  const auto twelve = analyse(lobed(12, 360, 2, 0.01, 0, 0.001, 2));
  REQUIRE_FALSE(twelve.harmonics.empty());
  CHECK(twelve.harmonics.back().upr <= 4);
}

namespace {
struct Repeated {
  double stated_mm, scatter_mm;
};
// 300 repetitions of one part with nothing above its second order: the scatter of the amplitude is known to 4
// %.
Repeated repeated_readings() {
  double sum = 0, sum2 = 0, stated = 0;
  constexpr int kRepeats = 300;
  for (int i = 0; i < kRepeats; ++i) {
    const auto analysis = analyse(lobed(30, 360, 2, 0.05, 0, 0.004, 1000 + static_cast<unsigned>(i)));
    const double a = analysis.harmonics[0].amplitude_mm;
    sum += a, sum2 += a * a, stated += analysis.harmonics[0].u_amplitude_mm;
  }
  return {stated / kRepeats, std::sqrt(sum2 / kRepeats - std::pow(sum / kRepeats, 2))};
}
}  // namespace

TEST_CASE("harmonics: the stated uncertainty is not below that of repeated readings", "[fit][harmonics]") {
  const Repeated r = repeated_readings();
  CHECK(r.stated_mm > 0.92 * r.scatter_mm);
}

// 2026-11-25: was 1.7 times too wide (a third of the amplitude seen was allowed for orders above those
// estimated, though the orders just below these showed nothing).
TEST_CASE("harmonics: the stated uncertainty is that of repeated readings", "[fit][harmonics]") {
  const Repeated r = repeated_readings();
  CHECK(r.stated_mm == Approx(r.scatter_mm).epsilon(0.16));
}

TEST_CASE("Gaussian filter: half the amplitude at the cut-off, by the standard's definition",
          "[fit][filter]") {
  CHECK(gaussian_transmission(15, 15) == Approx(0.5).epsilon(1e-12));
  for (const int upr : {5, 15, 30}) {
    std::vector<double> angle, deviation;
    constexpr int kPoints = 720;
    for (int i = 0; i < kPoints; ++i) {
      angle.push_back(2 * kPi * i / kPoints);
      deviation.push_back(std::cos(upr * angle.back()));
    }
    REQUIRE(carries_cutoff(angle, 15));
    const auto smooth = gaussian_filtered(angle, deviation, 15);
    CHECK(smooth[0] == Approx(gaussian_transmission(upr, 15)).margin(5e-3));
  }
  CHECK_FALSE(carries_cutoff(std::vector<double>(50, 0.0), 15));
}

TEST_CASE("verdict: oval, lobed with its order, round, and undecided when the readings are too few",
          "[fit][verdict]") {
  CHECK(verdict_of(lobed(48, 360, 2, 0.02, 10, 0.004, 3)).form == OutlineForm::kOval);
  const Verdict three = verdict_of(lobed(48, 360, 3, 0.02, 10, 0.004, 3));
  CHECK(three.form == OutlineForm::kLobed);
  CHECK(three.upr == 3);
  CHECK(verdict_of(lobed(48, 360, 7, 0.02, 10, 0.004, 3)).upr == 7);
  int round = 0, undecided = 0;  // 5 % may be called otherwise: 15 of 20 or fewer with a chance of 3e-3
  for (unsigned seed = 1; seed <= 20; ++seed) {
    round += verdict_of(lobed(48, 360, 2, 0, 0, 0.004, seed)).form == OutlineForm::kRound;
    undecided += verdict_of(lobed(7, 360, 2, 0, 0, 0.03, seed)).form == OutlineForm::kUndecided;
  }
  CHECK(round >= 15);
  CHECK(undecided >= 12);
  CHECK(judge(std::nullopt, {}, false).form == OutlineForm::kUndecided);
}

TEST_CASE("verdict: lobes no larger than what all points share are not the part's", "[fit][verdict]") {
  const auto lobes = [](int order) { return lobed(96, 360, order, 0.02, 10, 0.002, 3); };
  for (const int order : {3, 9}) {
    CHECK(verdict_of(lobes(order), 0.003).form == OutlineForm::kLobed);
    CHECK(verdict_of(lobes(order), 0.010).form != OutlineForm::kLobed);  // two standard uncertainties
  }
  CHECK(verdict_of(lobed(96, 360, 2, 0.02, 10, 0.002, 3), 0.010).form ==
        OutlineForm::kOval);  // has its own in the ovality
}
