// How often the stated 95 % interval of the radius holds, over simulated parts with fresh seeds.
// Usage: study_radius_coverage [parts per row = 2000] [seed = 1] [stated | told | not-told | arcs]     (table
// on standard output)
//
// Law of the parts: R 6 to 15 mm; a third round, the rest with form amplitude A = sqrt(sum(a^2 + b^2))
// log-uniform in 0.02 to 0.3 % of R, spread at random over the orders 2 to 8. Readings: 0.0002 in noise per
// axis, rounded to 0.0001 in, angles jittered by a quarter of the spacing. "exact": the same closed form with
// the law's own prior.
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <span>
#include <string>

#include "fit/simulated_part.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/form_radius.hpp"

using namespace rondure;
using simulated::Part;
using simulated::Random;
using simulated::Reading;

namespace {

struct Row {
  const char* name;
  int points;
  double arc_deg;
};
constexpr Row kRows[] = {{"n 360", 360, 360}, {"n 24", 24, 360},    {"n 12", 12, 360},    {"n 8", 8, 360},
                         {"n 6", 6, 360},     {"180 deg", 24, 180}, {"120 deg", 24, 120}, {"90 deg", 24, 90},
                         {"60 deg", 24, 60},  {"20 deg", 24, 20}};

int parts_per_row = 2000;
unsigned long seed = 1;

const FormPrior& law_prior() {
  static const FormPrior prior = {
      round_family(1.0 / 3, 14),
      form_family(2.0 / 3, form_shares(2, 8, [](int) { return 1.0; }), 16, 2e-4, 3e-3, 0)};
  return prior;
}

FormRadiusOptions told(bool sigma_told, const Reading& how) {
  FormRadiusOptions options;
  options.resolution_mm = how.step_mm;
  if (sigma_told) options.sigma_mm = how.sigma_mm;
  return options;
}

struct Outcome {
  double hold_percent = 0, ratio_median = 0, width_percent = 0;  // width of the interval in % of R, median
};

double median(std::vector<double> v) {
  if (v.empty()) return 0;
  std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
  return v[v.size() / 2];
}

// make(part, random) gives the part its form; options(part) the way it is measured.
template <class Make, class Options>
Outcome coverage(const Row& row, Make make, Options options, bool with_exact, unsigned long salt) {
  Random random(seed * 1000003 + salt);
  int held = 0;
  std::vector<double> ratios, widths;
  Reading how;
  how.points = row.points, how.arc_deg = row.arc_deg;
  for (int i = 0; i < parts_per_row; ++i) {
    Part part = simulated::random_part(random);
    make(part, random);
    const auto points = simulated::read(part, how, random);
    const auto circle = fit_circle(points);
    if (!circle) continue;
    const FormRadiusOptions how_measured = options(part, how);
    const auto estimate = estimate_radius(points, {}, circle->circle, how_measured);
    const auto interval = estimate.radius95_mm();
    // Curvature reaching zero: the interval has no upper end.
    const double lo = interval ? interval->lo
                               : estimate.reference_radius_mm / (1 - mixture_quantile(estimate.terms, 0.025));
    if (lo <= part.radius_mm && (!interval || part.radius_mm <= interval->hi)) ++held;
    if (interval) widths.push_back(100 * interval->width() / part.radius_mm);
    if (with_exact && interval) {
      FormRadiusOptions exact = how_measured;
      exact.prior = &law_prior();
      const auto best = estimate_radius(points, {}, circle->circle, exact).radius95_mm();
      if (best) ratios.push_back(interval->width() / best->width());
    }
  }
  return {100.0 * held / parts_per_row, median(ratios), median(widths)};
}

void by_law(Part& part, Random& random) {
  if (simulated::uniform(random, 0, 3) < 1) return;
  simulated::add_form(part, 2e-4 * std::pow(15.0, simulated::uniform(random, 0, 1)), 2, 8, random);
}

void default_rows(bool sigma_told, std::size_t first = 0) {
  fmt::print("\nDefault (form estimated), sigma {}: % of intervals that hold\n",
             sigma_told ? "told" : "not told");
  fmt::print("{:<9}{:>9}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}{:>8}{:>9}{:>9}\n", "row", "mixture", "A 0", ".02",
             ".05", ".1", ".2", ".3 %", "lowest", "/ exact", "width %");
  for (const Row& row : std::span(kRows).subspan(first)) {
    const auto options = [&](const Part&, const Reading& how) { return told(sigma_told, how); };
    const unsigned long salt = static_cast<unsigned long>(row.points * 1000 + row.arc_deg) * 2 + sigma_told;
    const Outcome mixture = coverage(row, by_law, options, true, salt);
    fmt::print("{:<9}{:>9.1f}", row.name, mixture.hold_percent);
    double lowest = 100;
    for (const double amplitude : {0.0, 2e-4, 5e-4, 1e-3, 2e-3, 3e-3}) {
      const Outcome one = coverage(
          row,
          [&](Part& part, Random& random) {
            if (amplitude > 0) simulated::add_form(part, amplitude, 2, 8, random);
          },
          options, false, salt + static_cast<unsigned long>(1e8 * (1 + amplitude)));
      lowest = std::min(lowest, one.hold_percent);
      fmt::print("{:>7.1f}", one.hold_percent);
    }
    fmt::print("{:>8.1f}{:>9.2f}{:>9.3f}\n", lowest, mixture.ratio_median, mixture.width_percent);
    std::fflush(stdout);
  }
}

void round_rows() {
  fmt::print("\n--form none, round parts: % of intervals that hold\n{:<9}{:>8}{:>10}\n", "row", "told",
             "not told");
  for (const Row& row : kRows) {
    fmt::print("{:<9}", row.name);
    for (const bool sigma_told : {true, false}) {
      const auto options = [&](const Part&, const Reading& how) {
        FormRadiusOptions o = told(sigma_told, how);
        o.form = FormKind::kNone;
        return o;
      };
      const Outcome one = coverage(
          row, [](Part&, Random&) {}, options, false,
          77 + static_cast<unsigned long>(row.points * 1000 + row.arc_deg) * 2 + sigma_told);
      fmt::print("{:>9.1f}", one.hold_percent);
    }
    fmt::print("\n");
  }
}

void one_order_rows() {
  fmt::print(
      "\nDefault, all form in one order (amplitude by the law), sigma told: % that "
      "hold\n{:<9}{:>8}{:>8}{:>8}\n",
      "row", "2", "3", "8");
  for (const Row& row : {kRows[1], kRows[5]}) {
    fmt::print("{:<9}", row.name);
    for (const int order : {2, 3, 8}) {
      const auto make = [&](Part& part, Random& random) {
        if (simulated::uniform(random, 0, 3) < 1) return;
        simulated::add_lobe(part, order, 2e-4 * std::pow(15.0, simulated::uniform(random, 0, 1)), random);
      };
      const auto options = [&](const Part&, const Reading& how) { return told(true, how); };
      fmt::print("{:>8.1f}", coverage(row, make, options, false,
                                      991 + static_cast<unsigned long>(order) * 7 +
                                          static_cast<unsigned long>(row.arc_deg))
                                 .hold_percent);
    }
    fmt::print("\n");
  }
}

void stated_oval_rows() {
  fmt::print("\nTrue ellipse with (a - b)/R of so much, stated by --form, sigma told: % that hold\n{:<9}",
             "arc");
  constexpr double kOvals[] = {1e-3, 2e-3, 5e-3, 1e-2, 2e-2, 3e-2};
  for (const double d : kOvals) fmt::print("{:>7.1f} %", 100 * d);
  fmt::print("\n");
  for (const Row& row : {kRows[5], kRows[6], kRows[7], kRows[8]}) {
    fmt::print("{:<9}", row.name);
    for (const double oval : kOvals) {
      const auto make = [&](Part& part, Random&) { part.oval_ratio = oval; };
      const auto options = [&](const Part& part, const Reading& how) {
        FormRadiusOptions o = told(true, how);
        o.form = FormKind::kStated;
        o.out_of_round_mm = oval * part.radius_mm;
        return o;
      };
      fmt::print("{:>9.1f}", coverage(row, make, options, false,
                                      55 + static_cast<unsigned long>(1e6 * oval + row.arc_deg))
                                 .hold_percent);
    }
    fmt::print("\n");
    std::fflush(stdout);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 1) parts_per_row = std::max(1, std::atoi(argv[1]));
  if (argc > 2) seed = std::strtoul(argv[2], nullptr, 10);
  fmt::print(
      "95 % intervals of the radius: {} parts a cell (standard error {:.1f} points at 95 %), seed {}\n",
      parts_per_row, 100 * std::sqrt(0.95 * 0.05 / parts_per_row), seed);
  const std::string which = argc > 3 ? argv[3] : "all";
  if (which == "all") round_rows();
  if (which == "all") one_order_rows();
  if (which == "all" || which == "stated") stated_oval_rows();
  if (which == "all" || which == "told") default_rows(true);
  if (which == "all" || which == "not-told") default_rows(false);
  if (which == "arcs") default_rows(false, 6);  // the short ones alone
}
