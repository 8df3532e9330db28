// How often the stated 95 % interval of the ovality holds, how often a round part is called oval, or by the
// verdict anything else, and the radius under correlated errors, over simulated parts with fresh seeds.
// Usage: study_ovality_coverage [parts per cell = 4000] [seed = 1] [correlated | intervals | verdict]
// [readings, such as "n 360"] (tables on standard output)
//
// Independent noise: R 6 to 15 mm, 0.0002 in per axis, rounded to 0.0001 in, angles jittered by a quarter
// spacing, a true ellipse of (a - b)/R as stated on a background of lobes. Correlated: sigma/R = 0.0005
// across the edge, first-order autoregression, no rounding.
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <string>

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

int parts_per_cell = 4000;
unsigned long seed = 1;

struct Background {
  const char* name;
  int order;  // 0: none, -1: all orders 3 to 8
  double amplitude_ratio;
};

void add_background(Part& part, const Background& background, Random& random) {
  if (background.order > 0) simulated::add_lobe(part, background.order, background.amplitude_ratio, random);
  if (background.order < 0) simulated::add_form(part, background.amplitude_ratio, 3, 8, random);
}

// % of ovality intervals that hold, and % of parts called oval.
struct Outcome {
  double hold = 0, oval = 0;
};
Outcome ovality_cell(const Reading& how, const Background& background, double oval_ratio, bool sigma_told,
                     unsigned long salt) {
  Random random(seed * 7919 + salt);
  int held = 0, oval = 0, told = 0;  // parts whose arc is too short are not told
  for (int i = 0; i < parts_per_cell; ++i) {
    Part part = simulated::random_part(random);
    part.oval_ratio = oval_ratio;
    add_background(part, background, random);
    const auto points = simulated::read(part, how, random);
    const auto ellipse = fit_ellipse(points);
    if (!ellipse) continue;
    FormRadiusOptions options;
    options.resolution_mm = how.step_mm;
    if (sigma_told) options.sigma_mm = how.sigma_mm;
    const auto estimate = estimate_ovality(points, {}, *ellipse, options);
    if (!estimate) continue;
    ++told;
    held += estimate->ovality95_mm.contains(oval_ratio * part.radius_mm);
    oval += estimate->p_round < 0.05;
  }
  return {100.0 * held / std::max(told, 1), 100.0 * oval / std::max(told, 1)};
}

void interval_rows(const std::string& only) {
  fmt::print(
      "\nOvality interval: % that hold at (a - b)/R = 0 / 0.05 / 0.5 / 3 %; % of round parts called oval\n");
  fmt::print("{:<22}{:<18}{:>7}{:>7}{:>7}{:>7}{:>9}\n", "readings", "background", "0", ".05", ".5", "3 %",
             "oval");
  const Background backgrounds[] = {{"round", 0, 0}, {"3-lobe 0.1 %", 3, 1e-3}, {"5-lobe 0.1 %", 5, 1e-3}};
  struct Readings {
    const char* name;
    int points;
    double arc_deg;
    bool told;
  };
  for (const Readings& r : {Readings{"n 24, not told", 24, 360, false},
                            {"n 24, told", 24, 360, true},
                            {"n 50, not told", 50, 360, false},
                            {"n 360, not told", 360, 360, false},
                            {"n 360, told", 360, 360, true},
                            {"n 12, told", 12, 360, true},
                            {"n 12, not told", 12, 360, false},
                            {"270 deg n 24, told", 24, 270, true}}) {
    if (std::string(r.name).find(only) == std::string::npos) continue;
    for (const Background& background : backgrounds) {
      Reading how;
      how.points = r.points, how.arc_deg = r.arc_deg;
      fmt::print("{:<22}{:<18}", r.name, background.name);
      double false_oval = 0;
      for (const double oval : {0.0, 5e-4, 5e-3, 3e-2}) {
        const Outcome one = ovality_cell(
            how, background, oval, r.told,
            static_cast<unsigned long>(1e7 * oval + r.points * 31 + r.arc_deg * 3 + r.told) * 64 +
                static_cast<unsigned long>((background.order + 1) * 5 + 1e4 * background.amplitude_ratio));
        if (oval == 0) false_oval = one.oval;
        fmt::print("{:>7.1f}", one.hold);
      }
      fmt::print("{:>9.1f}\n", false_oval);
      std::fflush(stdout);
    }
  }
}

void correlated_rows() {
  fmt::print(
      "\nNeighbouring errors correlated, points all round: % of radius intervals that hold, median width / "
      "sigma, "
      "% called oval\n{:<16}{:<16}{:>8}{:>9}{:>7}\n",
      "errors", "background", "radius", "width", "oval");
  const Background backgrounds[] = {{"round", 0, 0}, {"3-lobe 0.1 %", 3, 1e-3}, {"5-lobe 0.1 %", 5, 1e-3}};
  struct Errors {
    const char* name;
    int points;
    double correlation;
  };
  for (const Errors& errors : {Errors{"white, n 50", 50, 0},
                               {"AR 0.9, n 50", 50, 0.9},
                               {"white, n 360", 360, 0},
                               {"AR 0.9, n 360", 360, 0.9}}) {
    for (const Background& background : backgrounds) {
      Random random(seed * 104729 + static_cast<unsigned long>(errors.points * 10 + background.order +
                                                               100 * errors.correlation));
      int held = 0, oval = 0;
      std::vector<double> widths;
      for (int i = 0; i < parts_per_cell; ++i) {
        Part part = simulated::random_part(random);
        add_background(part, background, random);
        Reading how{errors.points, 360, 5e-4 * part.radius_mm, 0, 0.25, errors.correlation};
        const auto points = simulated::read(part, how, random);
        const std::vector<double> sigmas(points.size(), how.sigma_mm);
        FormRadiusOptions options;
        options.correlated = true;
        options.sigma_guess_mm = how.sigma_mm;
        const auto circle = fit_circle(points);
        const auto ellipse = fit_ellipse(points);
        if (!circle || !ellipse) continue;
        if (const auto interval = estimate_radius(points, sigmas, circle->circle, options).radius95_mm()) {
          held += interval->contains(part.radius_mm);
          widths.push_back(interval->width() / how.sigma_mm);
        }
        const auto estimate = estimate_ovality(points, sigmas, *ellipse, options);
        oval += estimate && estimate->p_round < 0.05;
      }
      std::nth_element(widths.begin(), widths.begin() + static_cast<std::ptrdiff_t>(widths.size() / 2),
                       widths.end());
      fmt::print("{:<16}{:<16}{:>8.1f}{:>9.2f}{:>7.1f}\n", errors.name, background.name,
                 100.0 * held / parts_per_cell, widths.empty() ? 0 : widths[widths.size() / 2],
                 100.0 * oval / parts_per_cell);
      std::fflush(stdout);
    }
  }
}

// What is said of perfectly round parts, independent noise or AR 0.9.
void verdict_rows() {
  fmt::print(
      "\nVerdict on perfectly round parts, %; the stated error rate is {:.0f} % for the last three together\n"
      "{:<24}{:>8}{:>11}{:>7}{:>7}{:>11}{:>10}\n",
      100 * kFalseVerdict, "readings", "round", "undecided", "oval", "lobed", "irregular", "together");
  struct Readings {
    const char* name;
    int points;
    bool told;
    double correlation;
  };
  for (const Readings& r : {Readings{"n 12, told", 12, true, 0},
                            {"n 12, not told", 12, false, 0},
                            {"n 24, told", 24, true, 0},
                            {"n 24, not told", 24, false, 0},
                            {"n 50, not told", 50, false, 0},
                            {"n 360, told", 360, true, 0},
                            {"n 360, not told", 360, false, 0},
                            {"n 360, AR 0.9", 360, false, 0.9}}) {
    Random random(seed * 15485863 +
                  static_cast<unsigned long>(r.points * 4 + r.told + 2 * (r.correlation > 0)));
    int said[5] = {};
    for (int i = 0; i < parts_per_cell; ++i) {
      const Part part = simulated::random_part(random);
      Reading how;
      how.points = r.points, how.correlation = r.correlation;
      if (r.correlation > 0) how.step_mm = 0, how.sigma_mm = 5e-4 * part.radius_mm;
      const auto points = simulated::read(part, how, random);
      FormRadiusOptions options;
      options.resolution_mm = how.step_mm;
      if (r.told) options.sigma_mm = how.sigma_mm;
      std::vector<double> sigmas;
      if (r.correlation > 0)
        options.correlated = true, options.sigma_guess_mm = how.sigma_mm,
        sigmas.assign(points.size(), how.sigma_mm);
      const auto circle = fit_circle(points);
      const auto ellipse = fit_ellipse(points);
      if (!circle || !ellipse) continue;
      const auto ovality = estimate_ovality(points, sigmas, *ellipse, options);
      const Verdict verdict = judge(ovality ? std::optional(*ovality) : std::nullopt,
                                    analyse_harmonics(points, sigmas, circle->circle, options), r.told);
      using enum OutlineForm;
      constexpr OutlineForm forms[] = {kRound, kUndecided, kOval, kLobed, kIrregular};
      for (int k = 0; k < 5; ++k) said[k] += verdict.form == forms[k];
    }
    const auto percent = [&](int count) { return 100.0 * count / parts_per_cell; };
    fmt::print("{:<24}{:>8.1f}{:>11.1f}{:>7.1f}{:>7.1f}{:>11.1f}{:>10.1f}\n", r.name, percent(said[0]),
               percent(said[1]), percent(said[2]), percent(said[3]), percent(said[4]),
               percent(said[2] + said[3] + said[4]));
    std::fflush(stdout);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 1) parts_per_cell = std::max(1, std::atoi(argv[1]));
  if (argc > 2) seed = std::strtoul(argv[2], nullptr, 10);
  fmt::print(
      "Ovality and correlated errors: {} parts a cell (standard error {:.1f} points at 95 %), seed {}\n",
      parts_per_cell, 100 * std::sqrt(0.95 * 0.05 / parts_per_cell), seed);
  const std::string which = argc > 3 ? argv[3] : "all";
  if (which == "all" || which == "verdict") verdict_rows();
  if (which == "all" || which == "correlated") correlated_rows();
  if (which == "all" || which == "intervals") interval_rows(argc > 4 ? argv[4] : "");
}
