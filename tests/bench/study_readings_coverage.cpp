// How often the 95 % intervals that `rondure fit` prints of a file of readings hold, cell by cell: the text of the
// file goes through the parser and the function that the commands call (outliers, step of the readings, noise).
// Usage: study_readings_coverage [parts per cell = 200] [seed = 1] [all | hand | noise | decimals | careless | told | arcs]
// [only cells whose name holds these words]        (tables on standard output; two threads)
//
// Parts: R log-uniform in 3 to 30 mm. Form, peak to valley of the radius over R: oval 0.1 and 0.5 %, three and five
// lobes 0.05 and 0.2 %, or a spectrum of the orders 2 to 30 (rms amplitude 0.05 % at order 2, falling as 1/k, phases
// free). Noise per axis as told in the cell, in units of R; decimals: so many more than the first digit of the noise.
// Even spacing: jittered by a quarter of it; careless: by half, and two readings close together.
//
// "exact": least squares that knows the kind of the part and its size of form (Gaussian columns of its orders), and the
// noise where it is told (else Student's t with what is left): width of our interval over its, median.
#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cstdlib>
#include <functional>
#include <mutex>
#include <string>
#include <thread>

#include "fit/simulated_part.hpp"
#include "rondure/fit/distributions.hpp"
#include "rondure/measure/measure_readings.hpp"

using namespace rondure;
using simulated::Part;
using simulated::Random;

namespace {

int parts_per_cell = 200;
unsigned long seed = 1;

struct Kind {
  const char* name;
  int order;  // 0 round, -1 spectrum
  double peak_to_valley;
};
constexpr Kind kKinds[] = {{"round", 0, 0},
                           {"oval 0.1 %", 2, 1e-3},
                           {"oval 0.5 %", 2, 5e-3},
                           {"3 lobes 0.05 %", 3, 5e-4},
                           {"3 lobes 0.2 %", 3, 2e-3},
                           {"5 lobes 0.05 %", 5, 5e-4},
                           {"5 lobes 0.2 %", 5, 2e-3},
                           {"spectrum", -1, 0}};
constexpr double kSpectrumAt2 = 5e-4;

struct Cell {
  int points = 12;
  double noise_ratio = 3e-4;
  int decimals = 2;  // more than the first digit of the noise
  Kind kind = kKinds[0];
  bool told = false, careless = false;
  double arc_deg = 360;
  FormAssumption::Kind form = FormAssumption::Kind::kEstimate;
};

struct Outcome {
  int parts = 0, held = 0, ovals = 0, oval_held = 0, called_oval = 0, refused = 0;
  std::vector<double> ratio, oval_ratio;
  double hold() const { return parts ? 100.0 * held / parts : 0; }
  double oval_hold() const { return ovals ? 100.0 * oval_held / ovals : 0; }
  double oval_share() const { return ovals ? 100.0 * called_oval / ovals : 0; }
  void add(const Outcome& o) {
    parts += o.parts, held += o.held, ovals += o.ovals, oval_held += o.oval_held,
        called_oval += o.called_oval;
    refused += o.refused;
    ratio.insert(ratio.end(), o.ratio.begin(), o.ratio.end());
    oval_ratio.insert(oval_ratio.end(), o.oval_ratio.begin(), o.oval_ratio.end());
  }
};

double median(std::vector<double> v) {
  if (v.empty()) return 0;
  std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
  return v[v.size() / 2];
}

std::vector<double> directions(const Cell& cell, Random& random) {
  const bool full = cell.arc_deg >= 360;
  const double spacing = rad(cell.arc_deg) / (full ? cell.points : cell.points - 1);
  const double start = simulated::uniform(random, 0, 2 * kPi), jitter = cell.careless ? 0.5 : 0.25;
  std::vector<double> at;
  for (int i = 0; i < cell.points; ++i)
    at.push_back(start + spacing * (i + jitter * simulated::uniform(random, -1, 1)));
  if (cell.careless && cell.points > 6) at[3] = at[4] + 0.1 * spacing;
  return at;
}

std::vector<int> orders_of(const Kind& kind) {
  std::vector<int> orders;
  if (kind.order > 0) orders = {kind.order};
  for (int k = 2; kind.order < 0 && k <= 30; ++k) orders.push_back(k);
  return orders;
}
double rms_amplitude(const Kind& kind, int order) {  // sqrt(E(a^2 + b^2))
  return kind.order > 0 ? kind.peak_to_valley / 2 : kSpectrumAt2 * 2 / order;
}

// Half widths of the exact answers, radius and ovality of diameters, in units of R.
std::pair<double, double> exact_half(const Cell& cell, const std::vector<double>& at, double sigma) {
  const auto n = static_cast<Eigen::Index>(at.size());
  const auto orders = orders_of(cell.kind);
  const auto half = [&](bool oval) {
    Eigen::MatrixXd x(n, oval ? 5 : 3), cov = sigma * sigma * Eigen::MatrixXd::Identity(n, n);
    for (Eigen::Index i = 0; i < n; ++i) {
      const double t = at[static_cast<std::size_t>(i)];
      x.row(i).head(3) << 1, std::cos(t), std::sin(t);
      if (oval) x.row(i).tail(2) << std::cos(2 * t), std::sin(2 * t);
    }
    for (const int k : orders) {
      if (oval && k == 2) continue;
      const double v = std::pow(rms_amplitude(cell.kind, k), 2) / 2;
      for (Eigen::Index i = 0; i < n; ++i)
        for (Eigen::Index j = 0; j < n; ++j)
          cov(i, j) += v * std::cos(k * (at[static_cast<std::size_t>(i)] - at[static_cast<std::size_t>(j)]));
    }
    const Eigen::MatrixXd v = (x.transpose() * cov.ldlt().solve(x)).inverse();
    const double fixed = oval ? 5 : 3 + (cell.kind.order > 0 ? 2 : 0);
    const double dof = static_cast<double>(n) - fixed;
    const double factor = cell.told ? kNormal95 : dof > 0 ? student_quantile_two_sided(0.05, dof) : 1e9;
    return factor * (oval ? 4 * std::sqrt((v(3, 3) + v(4, 4)) / 2) : std::sqrt(v(0, 0)));
  };
  return {half(false), at.size() > 5 ? half(true) : 0};
}

Outcome run_cell(const Cell& cell, unsigned long salt) {
  Random random(seed * 1000003 + salt);
  Outcome out;
  for (int i = 0; i < parts_per_cell; ++i) {
    Part part;
    part.radius_mm = 3 * std::pow(10.0, simulated::uniform(random, 0, 1));
    part.center = {simulated::uniform(random, 20, 60), simulated::uniform(random, 20, 60)};
    part.oval_axis_rad = simulated::uniform(random, 0, kPi);
    double ovality = 0, mean_ratio = 1;
    if (cell.kind.order == 2) {
      part.oval_ratio = cell.kind.peak_to_valley;
      mean_ratio -= 3.0 / 16 * part.oval_ratio * part.oval_ratio;  // mean of the polar radius of an ellipse
      ovality = 2 * part.oval_ratio;
    } else if (cell.kind.order > 2) {
      simulated::add_lobe(part, cell.kind.order, cell.kind.peak_to_valley / 2, random);
    } else if (cell.kind.order < 0) {
      for (const int k : orders_of(cell.kind)) {
        const double s = rms_amplitude(cell.kind, k) / std::sqrt(2.0);
        part.lobes.push_back({k, s * simulated::normal(random), s * simulated::normal(random)});
      }
      ovality = 4 * std::hypot(part.lobes[0].cos_ratio, part.lobes[0].sin_ratio);
    }
    const double sigma_mm = cell.noise_ratio * part.radius_mm;
    const int decimals = std::max(1, static_cast<int>(std::ceil(-std::log10(sigma_mm))) + cell.decimals);
    const std::vector<double> at = directions(cell, random);
    std::string text = "# unit: mm\n";
    for (const double t : at) {
      const Eigen::Vector2d p =
          part.at(t) + sigma_mm * Eigen::Vector2d(simulated::normal(random), simulated::normal(random));
      text += fmt::format("{:.{}f},{:.{}f}\n", p.x(), decimals, p.y(), decimals);
    }
    const auto readings = parse_points(text);
    OutlineOptions options;
    if (cell.told) options.sigma_mm = sigma_mm;
    options.form.kind = cell.form;
    ++out.parts;
    const auto feature = measure_readings(*readings, nullptr, options);
    if (!feature ||
        !feature->circle->diameter95_mm) {  // no answer, or no upper limit: nothing wrong was said
      ++out.refused, ++out.held;
      continue;
    }
    const Interval radius = *feature->circle->diameter95_mm;
    out.held += radius.contains(2 * part.radius_mm * mean_ratio);
    const double step = std::pow(10.0, -decimals);
    const auto exact =
        exact_half(cell, at, std::sqrt(sigma_mm * sigma_mm + step * step / 12) / part.radius_mm);
    if (exact.first < 1e3) out.ratio.push_back(radius.width() / (4 * part.radius_mm * exact.first));
    if (!feature->ellipse || !feature->ellipse->ovality95_mm) continue;
    ++out.ovals;
    out.oval_held += feature->ellipse->ovality95_mm->contains(ovality * part.radius_mm);
    out.called_oval += feature->ellipse->p_round < 0.05;
    if (cell.kind.order == 2 && exact.second < 1e3 && ovality > 3 * exact.second)
      out.oval_ratio.push_back(feature->ellipse->ovality95_mm->width() / (2 * part.radius_mm * exact.second));
  }
  return out;
}

struct Named {
  std::string name;
  Cell cell;
  Outcome outcome;
};

void run_all(std::vector<Named>& cells) {
  std::mutex lock;
  std::size_t next = 0;
  const auto work = [&] {
    for (;;) {
      std::size_t i;
      {
        const std::lock_guard hold(lock);
        if ((i = next++) >= cells.size()) return;
      }
      cells[i].outcome = run_cell(cells[i].cell, std::hash<std::string>{}(cells[i].name));
    }
  };
  std::thread second(work);
  work();
  second.join();
}

std::string name_of(const Cell& c) {
  return fmt::format("n {:<3} noise {:.0e} decimals {:+d} {:<14}{}{}{}{}", c.points, c.noise_ratio,
                     c.decimals, c.kind.name, c.told ? " told" : "", c.careless ? " careless" : "",
                     c.arc_deg < 360 ? fmt::format(" {:.0f} deg", c.arc_deg) : "",
                     c.form == FormAssumption::Kind::kNone ? " form none" : "");
}

Outcome all_cells;
int cells_done = 0;
std::string only;
std::vector<std::string> low;

// One line a group (as `key` names it), cells pooled and the lowest of them.
void table(const std::string& title, const std::vector<Cell>& cells,
           const std::function<std::string(const Cell&)>& key) {
  std::vector<Named> named;
  for (const Cell& c : cells)
    if (name_of(c).find(only) != std::string::npos) named.push_back({name_of(c), c, {}});
  if (named.empty()) return;
  run_all(named);
  fmt::print("\n{}\n{:<30}{:>6}{:>8}{:>8}{:>8} |{:>8}{:>8}{:>8} |{:>9}\n", title, "", "cells", "radius",
             "lowest", "/exact", "ovality", "lowest", "/exact", "not oval");
  std::vector<std::string> keys;
  for (const auto& n : named)
    if (std::find(keys.begin(), keys.end(), key(n.cell)) == keys.end()) keys.push_back(key(n.cell));
  for (const auto& k : keys) {
    Outcome sum, not_oval;
    double lowest = 100, oval_lowest = 100;
    int count = 0;
    for (const auto& n : named) {
      if (key(n.cell) != k) continue;
      ++count, sum.add(n.outcome);
      lowest = std::min(lowest, n.outcome.hold());
      if (n.outcome.ovals > parts_per_cell / 2) oval_lowest = std::min(oval_lowest, n.outcome.oval_hold());
      if (n.cell.kind.order == 0) not_oval.add(n.outcome);
    }
    fmt::print("{:<30}{:>6}{:>8.1f}{:>8.1f}{:>8.2f} |{:>8.1f}{:>8.1f}{:>8.2f} |{:>9.1f}\n", k, count,
               sum.hold(), lowest, median(sum.ratio), sum.oval_hold(), sum.ovals ? oval_lowest : 0,
               median(sum.oval_ratio), not_oval.oval_share());
  }
  std::fflush(stdout);
  for (const auto& n : named) {
    all_cells.add(n.outcome), ++cells_done;
    const bool oval_low = n.outcome.ovals > parts_per_cell / 2 && n.outcome.oval_hold() < 92;
    const bool false_oval = n.cell.kind.order == 0 && n.outcome.oval_share() > 7;
    if (n.outcome.hold() < 92 || oval_low || false_oval)
      low.push_back(fmt::format("{:<62}{:>7.1f}{:>7.1f}{:>7.1f}", n.name, n.outcome.hold(),
                                n.outcome.oval_hold(), n.cell.kind.order == 0 ? n.outcome.oval_share() : 0));
  }
}

std::string by_n(const Cell& c) { return fmt::format("n {}", c.points); }
std::string by_n_kind(const Cell& c) { return fmt::format("n {:<3} {}", c.points, c.kind.name); }
std::string by_noise(const Cell& c) { return fmt::format("n {:<3} noise/R {:.0e}", c.points, c.noise_ratio); }
std::string by_decimals(const Cell& c) { return fmt::format("n {:<3} decimals {:+d}", c.points, c.decimals); }
std::string by_arc(const Cell& c) { return fmt::format("{:.0f} deg {}", c.arc_deg, c.kind.name); }

}  // namespace

int main(int argc, char** argv) {
  if (argc > 1) parts_per_cell = std::max(1, std::atoi(argv[1]));
  if (argc > 2) seed = std::strtoul(argv[2], nullptr, 10);
  const std::string which = argc > 3 ? argv[3] : "all";
  if (argc > 4) only = argv[4];
  const auto wanted = [&](const char* name) { return which == "all" || which == name; };
  fmt::print(
      "95 % intervals of 'fit', through the text of the readings: {} parts a cell (standard error {:.1f} "
      "points), seed {}\n",
      parts_per_cell, 100 * std::sqrt(0.95 * 0.05 / parts_per_cell), seed);
  std::vector<Cell> cells;
  const auto fill = [&](std::vector<int> ns, std::vector<double> noises, std::vector<int> decimals,
                        std::vector<int> kinds, Cell base = {}) {
    for (const int n : ns)
      for (const int kind : kinds)
        for (const double noise : noises)
          for (const int d : decimals) {
            base.points = n, base.noise_ratio = noise, base.decimals = d, base.kind = kKinds[kind];
            cells.push_back(base);
          }
  };
  const std::vector<int> all_kinds = {0, 1, 2, 3, 4, 5, 6, 7};
  if (wanted("hand")) {
    cells.clear();
    fill({6, 8, 12, 16, 24, 50, 360}, {3e-4}, {1}, all_kinds);
    table("Sigma not told, noise/R 3e-4, one decimal more", cells, by_n_kind);
  }
  if (wanted("noise")) {
    cells.clear();
    fill({6, 8, 12, 16, 24, 50, 360}, {1e-5, 1e-4, 1e-3, 3e-3}, {1}, {0, 2, 4, 7});
    table("Sigma not told, by noise (round, oval 0.5 %, 3 lobes 0.2 %, spectrum)", cells, by_noise);
  }
  if (wanted("decimals")) {
    cells.clear();
    fill({6, 8, 12, 24, 50}, {3e-4}, {-1, 0, 2, 3, 4}, {0, 2, 3});
    table("Sigma not told, by decimals (round, oval 0.5 %, 3 lobes 0.05 %)", cells, by_decimals);
  }
  if (wanted("careless")) {
    cells.clear();
    Cell base;
    base.careless = true;
    fill({6, 8, 12, 16, 24, 50}, {3e-4}, {1}, {0, 2, 4, 6, 7}, base);
    table("Sigma not told, careless spacing (round, oval 0.5 %, 3 and 5 lobes 0.2 %, spectrum)", cells, by_n);
  }
  if (wanted("told")) {
    cells.clear();
    Cell base;
    base.told = true;
    fill({6, 8, 12, 16, 24, 50, 360}, {1e-4, 1e-3}, {1}, {0, 2, 3, 7}, base);
    table("Sigma told, noise/R 1e-4 and 1e-3", cells, by_n_kind);
    cells.clear();
    base.told = false, base.form = FormAssumption::Kind::kNone;
    fill({6, 12, 24}, {3e-4}, {1}, {0}, base);
    base.told = true;
    fill({12, 24}, {3e-4}, {-1, 1}, {0}, base);
    table("--form none, not told; then told", cells, by_n);
  }
  if (wanted("arcs")) {
    for (const bool told : {false, true})
      for (const bool careless : {false, true}) {
        cells.clear();
        for (const double arc : {240.0, 180.0, 120.0, 60.0}) {
          Cell base;
          base.arc_deg = arc, base.told = told, base.careless = careless;
          fill(told || careless ? std::vector{12, 24} : std::vector{8, 12, 16, 24, 50}, {3e-4}, {1},
               {0, 1, 3, 7}, base);
        }
        table(fmt::format("Arcs, sigma {}, {} spacing", told ? "told" : "not told",
                          careless ? "careless" : "even"),
              cells, by_arc);
      }
  }
  fmt::print(
      "\nAll {} cells: radius {:.1f} %, ovality {:.1f} %\nBelow 92 %, or round parts called oval in more "
      "than 7 %: {} cells"
      " (radius, ovality, called oval)\n",
      cells_done, all_cells.hold(), all_cells.oval_hold(), low.size());
  for (const auto& line : low) fmt::print("  {}\n", line);
}
