// How often the 95 % intervals that `rondure fit` prints of a file of readings hold, cell by cell: the text of the
// file goes through the parser and the function that the commands call (outliers, step of the readings, noise).
// Usage: study_readings_coverage [parts per cell = 200] [seed = 1] [all | noise | decimals | careless | told | arcs | between | stated | laws | floor]
// [only cells whose name holds these words]        (tables on standard output; two threads)
//
// Parts: R log-uniform in 3 to 30 mm. Form, peak to valley of the radius over R: oval 0.1 and 0.5 %, three and five
// lobes 0.05 and 0.2 %, or a spectrum of the orders 2 to 30 (rms amplitude 0.05 % at order 2, falling as 1/k, phases
// free). "laws" draws what the program's belief does not have, or hardly: the orders 2 to 8 alike, 12 lobes, an oval of
// 3 %. Noise per axis as told in the cell, in units of R; decimals: so many more than the first digit of the noise.
// Even spacing: jittered by a quarter of it; careless: by half, and two readings close together.
//
// A cell that falls short (below 92 %, or a round part called oval in more than 7 %) is drawn again with the next seed
// and four times the parts: both figures are named, and the second tells a fault from chance.
// Not oval: round parts called oval, %; lobed: called lobed or irregular.
//
// "/exact", "/open": median width of our interval over that of the two answers in exact_readings.hpp, the one that
// knows the part's kind and size of form, and the one that does not (radius, to 24 readings); first 8 parts of a cell.
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <functional>
#include <mutex>
#include <string>
#include <thread>

#include "exact_readings.hpp"
#include "fit/simulated_part.hpp"
#include "rondure/fit/distributions.hpp"
#include "rondure/measure/measure_readings.hpp"

using namespace rondure;
using exact::Kind, exact::orders_of, exact::rms_amplitude;
using simulated::Part;
using simulated::Random;

namespace {

int parts_per_cell = 200;
constexpr int kCompared = 8;  // parts of a cell whose widths are compared with the exact answers
constexpr int kRepeat = 4;    // times the parts when a low cell is drawn again
unsigned long seed = 1;

constexpr auto kKinds =
    exact::believed_and({{"2-8 alike 0.2%", -2, 2e-3}, {"oval 3 %", 2, 3e-2}, {"12 lobes 0.1 %", 12, 1e-3}});

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
  int parts = 0, held = 0, ovals = 0, oval_held = 0, called_oval = 0, other_form = 0, refused = 0;
  std::vector<double> ratio, oval_ratio, open_ratio;
  double hold() const { return parts ? 100.0 * held / parts : 0; }
  double oval_hold() const { return ovals ? 100.0 * oval_held / ovals : 0; }
  double oval_share() const { return ovals ? 100.0 * called_oval / ovals : 0; }
  double other_share() const { return parts ? 100.0 * other_form / parts : 0; }  // lobed or irregular
  void add(const Outcome& o) {
    parts += o.parts, held += o.held, ovals += o.ovals, oval_held += o.oval_held,
        called_oval += o.called_oval;
    refused += o.refused, other_form += o.other_form;
    ratio.insert(ratio.end(), o.ratio.begin(), o.ratio.end());
    oval_ratio.insert(oval_ratio.end(), o.oval_ratio.begin(), o.oval_ratio.end());
    open_ratio.insert(open_ratio.end(), o.open_ratio.begin(), o.open_ratio.end());
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

Outcome run_cell(const Cell& cell, unsigned long salt, int parts) {
  Random random(seed * 1000003 + salt);
  Outcome out;
  for (int i = 0; i < parts; ++i) {
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
    std::vector<double> radial;  // over R, about the true middle, as the exact answers see them
    for (const double t : at) {
      const Eigen::Vector2d p =
          part.at(t) + sigma_mm * Eigen::Vector2d(simulated::normal(random), simulated::normal(random));
      text += fmt::format("{:.{}f},{:.{}f}\n", p.x(), decimals, p.y(), decimals);
      radial.push_back((p - part.center.vec()).norm() / part.radius_mm - mean_ratio);
    }
    const auto readings = parse_points(text);
    OutlineOptions options;
    if (cell.told) options.sigma_mm = sigma_mm;
    options.form.kind = cell.form;
    if (cell.form == FormAssumption::Kind::kStated)
      options.form.out_of_round_mm = cell.kind.peak_to_valley * part.radius_mm;
    ++out.parts;
    const auto feature = measure_readings(*readings, nullptr, options);
    if (!feature ||
        !feature->circle->diameter95_mm) {  // no answer, or no upper limit: nothing wrong was said
      ++out.refused, ++out.held;
      continue;
    }
    out.other_form += feature->verdict == OutlineForm::kLobed || feature->verdict == OutlineForm::kIrregular;
    const Interval radius = *feature->circle->diameter95_mm;
    out.held += radius.contains(2 * part.radius_mm * mean_ratio);
    const double step = std::pow(10.0, -decimals);
    const double sigma = std::sqrt(sigma_mm * sigma_mm + step * step / 12) / part.radius_mm;
    const bool compared = i < kCompared;
    const auto exact =
        compared ? exact::kind_known(cell.kind, at, sigma, cell.told) : exact::HalfWidths{1e9, 1e9};
    if (exact.radius < 1e3) out.ratio.push_back(radius.width() / (4 * part.radius_mm * exact.radius));
    if (compared && cell.points <= 24)
      out.open_ratio.push_back(
          radius.width() /
          (2 * part.radius_mm * exact::kind_open(at, radial, cell.told ? sigma : 0).width()));
    if (!feature->ellipse || !feature->ellipse->ovality95_mm) continue;
    ++out.ovals;
    out.oval_held += feature->ellipse->ovality95_mm->contains(ovality * part.radius_mm);
    out.called_oval += feature->ellipse->p_round < 0.05;
    if (cell.kind.order == 2 && exact.ovality < 1e3 && ovality > 3 * exact.ovality)
      out.oval_ratio.push_back(feature->ellipse->ovality95_mm->width() /
                               (2 * part.radius_mm * exact.ovality));
  }
  return out;
}

// What no answer can be told of the radius where a part may have any of the orders 2 to 8 alike: readings without noise,
// y = X b + B a, a ~ N(0, tau^2/14 I), X = (1, cos t, sin t); with W = B B'/14 the best unbiased radius has
// u(R)/(tau R) = sqrt(((X' W^-1 X)^-1)_00) (Gauss and Markov), 0 once there are more readings than 3 + 14 unknowns.
// tau: rms size sqrt(E sum(a^2 + b^2)). Median over jittered spacings.
double unseen_form(int points) {
  Random random(seed * 1000003 + static_cast<unsigned long>(points));
  Cell cell;
  cell.points = points;
  std::vector<double> u;
  for (int i = 0; i < 400; ++i) {
    const std::vector<double> at = directions(cell, random);
    const auto n = static_cast<Eigen::Index>(at.size());
    Eigen::MatrixXd w = 1e-12 * Eigen::MatrixXd::Identity(n, n);
    for (Eigen::Index a = 0; a < n; ++a)
      for (Eigen::Index b = 0; b < n; ++b)
        for (int k = 2; k <= 8; ++k)
          w(a, b) += std::cos(k * (at[static_cast<std::size_t>(a)] - at[static_cast<std::size_t>(b)])) / 14;
    const Eigen::MatrixXd x = exact::columns(at, false);
    u.push_back(std::sqrt((x.transpose() * w.ldlt().solve(x)).inverse()(0, 0)));
  }
  return median(std::move(u));
}

void print_floor() {
  fmt::print("\nWithout any noise, form of orders 2 to 8 alike, rms size tau: u of the radius over tau R\n");
  for (const int n : {6, 8, 10, 12, 14, 16, 20, 24}) fmt::print("n {:<3} {:.4f}\n", n, unseen_form(n));
}

struct Named {
  std::string name;
  Cell cell;
  Outcome outcome, again;

  bool has_ovality(const Outcome& o) const { return o.ovals > o.parts / 2; }
  bool called_oval(const Outcome& o) const {
    return cell.kind.order == 0 && has_ovality(o) && o.oval_share() > 7;
  }
  bool falls_short(const Outcome& o) const {
    return o.hold() < 92 || (has_ovality(o) && o.oval_hold() < 92) || called_oval(o);
  }
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
      Named& c = cells[i];
      const unsigned long salt = std::hash<std::string>{}(c.name);
      c.outcome = run_cell(c.cell, salt, parts_per_cell);
      if (c.falls_short(c.outcome)) c.again = run_cell(c.cell, salt + 1000003, kRepeat * parts_per_cell);
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
                     c.form == FormAssumption::Kind::kNone     ? " form none"
                     : c.form == FormAssumption::Kind::kStated ? " form stated"
                                                               : "");
}

Outcome all_cells;
int cells_done = 0, short_by_chance = 0;
std::string only;
std::vector<std::string> low, wide;

std::string figures(const Named& n, const Outcome& o) {
  return fmt::format("{:>8.1f}{:>7.1f}{:>7}", o.hold(), o.oval_hold(),
                     n.cell.kind.order == 0 ? fmt::format("{:.1f}", o.oval_share()) : "");
}

void keep_notes(const std::vector<Named>& named) {
  for (const auto& n : named) {
    all_cells.add(n.outcome), ++cells_done;
    if (n.falls_short(n.outcome)) {
      const bool fault = n.falls_short(n.again);
      short_by_chance += !fault;
      low.push_back(fmt::format("{:<52}{} |{:>6}{}{}", n.name, figures(n, n.outcome), n.again.parts,
                                figures(n, n.again), fault ? "  short again" : ""));
    }
    const double exact = median(n.outcome.ratio), open = median(n.outcome.open_ratio);
    if (exact > 1.3) wide.push_back(fmt::format("{:<52}{:>8.2f}{:>8.2f}", n.name, exact, open));
  }
}

// One line a group (as `key` names it), cells pooled and the lowest of them.
void table(const std::string& title, const std::vector<Cell>& cells,
           const std::function<std::string(const Cell&)>& key) {
  std::vector<Named> named;
  for (const Cell& c : cells)
    if (name_of(c).find(only) != std::string::npos) named.push_back({name_of(c), c, {}, {}});
  if (named.empty()) return;
  run_all(named);
  fmt::print("\n{}\n{:<30}{:>6}{:>8}{:>8}{:>8}{:>8} |{:>8}{:>8}{:>8} |{:>9}{:>7}\n", title, "", "cells",
             "radius", "lowest", "/exact", "/open", "ovality", "lowest", "/exact", "not oval", "lobed");
  std::vector<std::string> keys;
  for (const auto& n : named)
    if (std::find(keys.begin(), keys.end(), key(n.cell)) == keys.end()) keys.push_back(key(n.cell));
  const auto figure = [](double v, int decimals) {
    return v > 0 ? fmt::format("{:.{}f}", v, decimals) : "-";
  };
  for (const auto& k : keys) {
    Outcome sum, not_oval;
    double lowest = 100, oval_lowest = 100;
    int count = 0;
    for (const auto& n : named) {
      if (key(n.cell) != k) continue;
      ++count, sum.add(n.outcome);
      lowest = std::min(lowest, n.outcome.hold());
      if (n.has_ovality(n.outcome)) oval_lowest = std::min(oval_lowest, n.outcome.oval_hold());
      if (n.cell.kind.order == 0) not_oval.add(n.outcome);
    }
    fmt::print("{:<30}{:>6}{:>8.1f}{:>8.1f}{:>8}{:>8} |{:>8}{:>8}{:>8} |{:>9}{:>7}\n", k, count, sum.hold(),
               lowest, figure(median(sum.ratio), 2), figure(median(sum.open_ratio), 2),
               figure(sum.oval_hold(), 1), figure(sum.ovals ? oval_lowest : 0, 1),
               figure(median(sum.oval_ratio), 2),
               not_oval.ovals ? fmt::format("{:.1f}", not_oval.oval_share()) : "-",
               not_oval.parts ? fmt::format("{:.1f}", not_oval.other_share()) : "-");
  }
  std::fflush(stdout);
  keep_notes(named);
}

std::string by_n(const Cell& c) { return fmt::format("n {}", c.points); }
std::string by_noise(const Cell& c) { return fmt::format("n {:<3} noise/R {:.0e}", c.points, c.noise_ratio); }
std::string by_decimals(const Cell& c) { return fmt::format("n {:<3} decimals {:+d}", c.points, c.decimals); }
std::string by_arc(const Cell& c) {
  return fmt::format("n {:<3} {:.0f} deg noise/R {:.0e}", c.points, c.arc_deg, c.noise_ratio);
}

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
  if (wanted("floor")) print_floor();
  if (which == "floor") return 0;
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
  const std::vector<int> all_kinds = {0, 1, 2, 3, 4, 5, 6, 7}, by_hand = {6, 8, 12, 16, 24, 50};
  const std::vector<double> all_noises = {1e-5, 1e-4, 3e-4, 1e-3, 3e-3};
  if (wanted("noise")) {
    cells.clear();
    fill(by_hand, all_noises, {1}, all_kinds);
    fill({360}, all_noises, {1}, {0, 2, 4, 7});
    table("Sigma not told, by noise (all eight kinds; 360: round, oval 0.5 %, 3 lobes 0.2 %, spectrum)",
          cells, by_noise);
  }
  if (wanted("decimals")) {
    cells.clear();
    fill(by_hand, {3e-4}, {-1, 0, 2, 3, 4}, all_kinds);
    fill({360}, {3e-4}, {-1, 4}, {0, 2, 7});
    table("Sigma not told, by decimals, noise/R 3e-4 (all eight kinds; 360: round, oval 0.5 %, spectrum)",
          cells, by_decimals);
    cells.clear();
    fill(by_hand, {1e-5, 3e-3}, {-1, 0, 2, 4}, {0, 2, 4});
    table("The same, noise/R 1e-5 and 3e-3 (round, oval 0.5 %, 3 lobes 0.2 %)", cells, by_decimals);
  }
  if (wanted("careless")) {
    cells.clear();
    Cell base;
    base.careless = true;
    fill(by_hand, {1e-5, 3e-4, 3e-3}, {1}, all_kinds, base);
    fill({360}, {3e-4}, {1}, {0, 2, 4, 7}, base);
    table(
        "Sigma not told, careless spacing (all eight kinds; 360: round, oval 0.5 %, 3 lobes 0.2 %, spectrum)",
        cells, by_noise);
  }
  if (wanted("told")) {
    cells.clear();
    Cell base;
    base.told = true;
    fill(by_hand, all_noises, {1}, all_kinds, base);
    fill({360}, {1e-4, 1e-3}, {1}, {0, 2, 3, 7}, base);
    table("Sigma told (all eight kinds; 360: round, oval 0.5 %, 3 lobes 0.05 %, spectrum)", cells, by_noise);
    cells.clear();
    base.careless = true;
    fill(by_hand, {3e-4}, {1}, {0, 2, 4, 7}, base);
    table("Sigma told, careless spacing (round, oval 0.5 %, 3 lobes 0.2 %, spectrum)", cells, by_noise);
    cells.clear();
    base = {};
    base.form = FormAssumption::Kind::kNone;
    fill({6, 12, 24}, {3e-4}, {1}, {0}, base);
    base.told = true;
    fill({12, 24}, {3e-4}, {-1, 1}, {0}, base);
    table("--form none, not told; then told", cells, by_n);
  }
  if (wanted("arcs")) {
    for (const bool told : {false, true})
      for (const bool careless : {false, true}) {
        cells.clear();
        const bool plain = !told && !careless;
        for (const double arc : {240.0, 180.0, 120.0, 60.0}) {
          Cell base;
          base.arc_deg = arc, base.told = told, base.careless = careless;
          fill(plain ? by_hand : std::vector{8, 12, 24, 50}, {3e-4}, {1},
               plain ? all_kinds : std::vector{0, 1, 2, 3, 7}, base);
          if (plain) fill({12, 24}, {1e-5, 1e-4, 1e-3, 3e-3}, {1}, {0, 1, 2, 3, 7}, base);
          if (plain) fill({360}, {3e-4}, {1}, {0, 2, 4, 7}, base);
        }
        table(fmt::format("Arcs, sigma {}, {} spacing", told ? "told" : "not told",
                          careless ? "careless" : "even"),
              cells, by_arc);
      }
  }
  // Arcs that no weight was chosen for (arc_form_prior): between those, shorter, and with a gap of 60 degrees.
  if (wanted("between"))
    for (const bool told : {false, true}) {
      cells.clear();
      for (const double arc : {300.0, 210.0, 150.0, 90.0, 45.0, 30.0}) {
        Cell base;
        base.arc_deg = arc, base.told = told;
        fill(told ? std::vector{12, 24} : std::vector{8, 12, 24, 50}, {3e-4}, {1}, all_kinds, base);
        if (!told) fill({12, 24}, {1e-5, 3e-3}, {1}, {0, 1, 2, 3, 7}, base);
        base.careless = true;
        if (!told) fill({12}, {3e-4}, {1}, {0, 2, 3, 7}, base);
      }
      table(fmt::format("Arcs between, sigma {}", told ? "told" : "not told"), cells, by_arc);
    }
  if (wanted("laws")) {
    cells.clear();
    fill({8, 12, 24, 50}, {3e-4}, {1}, {8, 9, 10});
    for (const double arc : {240.0, 180.0, 120.0}) {
      Cell base;
      base.arc_deg = arc;
      fill({24, 50}, {3e-4}, {1}, {8, 9, 10}, base);
    }
    table("Other laws, sigma not told (orders 2 to 8 alike, an oval of 3 %, 12 lobes)", cells, by_arc);
  }
  if (wanted("stated"))
    for (const bool told : {false, true}) {
      cells.clear();
      for (const double arc : {360.0, 240.0, 180.0, 120.0, 60.0}) {
        Cell base;
        base.arc_deg = arc, base.told = told, base.form = FormAssumption::Kind::kStated;
        fill({12, 24}, {3e-4}, {1}, {1, 2, 4}, base);
      }
      table(fmt::format("--form says how far out of round (oval 0.1, 0.5 %, 3 lobes 0.2 %), sigma {}",
                        told ? "told" : "not told"),
            cells, by_arc);
    }
  fmt::print(
      "\nAll {} cells: radius {:.1f} %, ovality {:.1f} %; no answer in {} of {} parts\n"
      "Below 92 %, or round parts called oval in more than 7 %: {} cells, {} of them not when drawn again "
      "(radius, "
      "ovality, called oval | parts and the same again)\n",
      cells_done, all_cells.hold(), all_cells.oval_hold(), all_cells.refused, all_cells.parts, low.size(),
      short_by_chance);
  for (const auto& line : low) fmt::print("  {}\n", line);
  fmt::print(
      "Radius more than 1.3 times wider than the answer that knows the kind: {} cells (/exact, /open)\n",
      wide.size());
  for (const auto& line : wide) fmt::print("  {}\n", line);
}
