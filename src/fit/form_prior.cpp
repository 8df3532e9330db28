#include "rondure/fit/form_prior.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "higher_orders.hpp"
#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {
constexpr int kFirst = kFormFirstOrder, kLast = kFormLastOrder, kColumns = 2 * (kLast - kFirst + 1);

std::vector<double> flat_spectrum() {
  return form_shares(kFirst, kLast, [](int) { return 1.0; });
}
std::vector<double> falling_spectrum() {
  return form_shares(kFirst, kLast, [](int k) { return 1.0 / (k * k); });
}
std::vector<double> one_order(int order, double others) {
  return form_shares(kFirst, kLast, [=](int k) { return k == order ? 1.0 : others; });
}
}  // namespace

std::vector<double> with_higher_orders(std::vector<double> share, double rest) {
  double sum = 0;
  for (int k = kLast + 1; k <= kFormHighestOrder; ++k) sum += 1.0 / (k * k);
  for (int k = kLast + 1; k <= kFormHighestOrder;
       ++k)  // an order's share of the mean square: that of one of its columns
    share.insert(share.end(), 2, rest * rest / (k * k * sum));
  return share;
}

int last_order(const FormPrior& prior, int first_order) {
  int last = 0;
  for (const FormFamily& f : prior)
    last = std::max(last, first_order - 1 + static_cast<int>(f.share.size() / 2));
  return last;
}

const FormPrior& texture_beside_a_gap() {
  static const FormPrior prior = [] {
    constexpr int kFrom = kTextureFirstOrder, kNodes = 14;
    // tau, of the radius: 0.2 to 40 um of a part of R 10 mm. Bounds, nodes and masses by judgement;
    // study_photo_form checks what comes of them (parts with a nib or a flat left out).
    constexpr double kFinest = 2e-5, kCoarsest = 4e-3;
    FormPrior families = {round_family(0.2, 0)};
    for (const int last : {10, 14, 18, 24, 32, 40})
      families.push_back(form_family(0.11, form_shares(kFrom, last, [](int) { return 1.0; }), kNodes, kFinest,
                                     kCoarsest, 0));
    families.push_back(form_family(0.14, form_shares(kFrom, 30, [](int k) { return 1.0 / (k * k); }), kNodes,
                                   kFinest, kCoarsest, 0));
    return families;
  }();
  return prior;
}

FormFamily form_family(double mass, std::vector<double> share, int nodes, double tau_lo, double tau_hi,
                       double tilt, double rest) {
  FormFamily family{mass, std::move(share), {}, {}, rest};
  double sum = 0;
  for (int i = 0; i < nodes; ++i) {
    const double tau = tau_lo * std::pow(tau_hi / tau_lo, (i + 0.5) / nodes);
    family.tau_ratio.push_back(tau);
    family.tau_mass.push_back(std::pow(tau, tilt));
    sum += family.tau_mass.back();
  }
  for (double& mass_of_node : family.tau_mass) mass_of_node /= sum;
  return family;
}

FormFamily round_family(double mass, int columns) {
  return {mass, std::vector<double>(columns, columns ? 1.0 / columns : 0.0), {0.0}, {1.0}, 0};
}

namespace {
// tau, of the radius, and the power of tau that its mass grows with: a judgement on form of 0.02 to 0.3 % (form_prior.hpp),
// checked cell by cell by study_readings_coverage.
constexpr double kLo = 2e-4, kHi = 4e-3, kTilt = 0.75;
// Others in a one-order family: next to nothing. A larger share takes up the noise of readings ten to a hundred times finer than
// the form in twelve free columns, and the interval is too narrow (radius held 88 % at noise/R 1e-4, 0.5 % oval, 12 readings,
// with 3e-4; 91 % at 1e-5, 16 readings, with 3e-6; 97 % now).
constexpr double kTight = 1e-7;
}  // namespace

const FormPrior& default_form_prior() {
  static const FormPrior prior = {
      round_family(0.45, kColumns),
      form_family(0.05, flat_spectrum(), 10, kLo, kHi, kTilt, 0.2),
      form_family(0.12, flat_spectrum(), 10, kLo, kHi, kTilt, 0.6),
      form_family(0.08, falling_spectrum(), 8, kLo, kHi, kTilt, 0.35),
      form_family(0.05, one_order(2, 0.03), 8, kLo, kHi, kTilt),
      form_family(0.03, one_order(3, 0.03), 8, kLo, kHi, kTilt),
      form_family(0.09, one_order(2, kTight), 10, kLo, kHi, kTilt),
      form_family(0.07, one_order(3, kTight), 10, kLo, kHi, kTilt),
      form_family(0.05, one_order(5, kTight), 10, kLo, kHi, kTilt),
      form_family(0.01, one_order(2, kTight), 6, 2e-3, 4e-2, 0),
  };
  return prior;
}

// Five lobes on six readings evenly spaced look like a part moved aside, and only the spacing's unevenness moves the radius: with
// the mass that more readings have (0.05) the radius of five lobes of 0.05 % held in 89.5 % of 4,000 parts, noise/R 1e-4 told.
const FormPrior& six_readings_form_prior() {
  static const FormPrior prior = [] {
    FormPrior moved = default_form_prior();
    // Places in default_form_prior()'s list.
    constexpr std::size_t kRound = 0, kFiveLobes = 8;
    // Of all mass, from round to five lobes: 92.5 % of 600 such parts then (study_readings_coverage, told; test_form_coverage).
    constexpr double kMoved = 0.18;
    moved[kRound].mass -= kMoved, moved[kFiveLobes].mass += kMoved;
    return moved;
  }();
  return prior;
}

namespace {
// A kind's weight in the mixture, and where its interval ends (FormFamily::ends_at).
struct OfKind {
  double mass, ends_at;
};
constexpr std::array kArcs_rad = {kPi / 4, kPi / 3, 2 * kPi / 3, kPi, 4 * kPi / 3};
// An arc hardly shows its form, and what it does not show is left to these weights alone. They are no beliefs: which interval is
// the narrowest where each kind must hold in 92 % is settled by a weight on each kind's density and one on its width
// (study_readings_bound), and these were found for the arcs of study_readings_coverage, which checks them, from 24 to 80 parts a cell: the
// mean width over that of who knows the kind, the widest above all, with every cell holding in some 94 %, at 240 degrees with
// sizes between those of the cells too. Over 120 degrees and
// less a large oval and five lobes bend like another radius, over 180 many undulations and slight ovals do.
constexpr OfKind kKindsOverArcs[][kArcs_rad.size()] = {
    // 45, 60, 120, 180, 240 degrees
    {{0.062, 1.1}, {0.05, 0.84}, {0.05, 1.48}, {0.06, 0.84}, {0.083, 1.7}},  // round
    {{0.12, 1.4}, {0.2, 1.9}, {0.08, 0.3}, {0.07, 0.2}, {0.0019, 3.3}},      // orders 2 to 8 alike, few above
    {{0.2, 1.6}, {0.27, 1.9}, {0.05, 0.4}, {0.025, 0.2}, {0.014, 3.3}},      // alike, more above
    {{1.8, 0.4}, {2.7, 0.54}, {0.52, 0.32}, {0.36, 0.2}, {1.6, 0.88}},       // many undulations, falling
    {{1.1, 0.25}, {0.7, 0.29}, {0.03, 0.3}, {0.1, 0.2}, {0.21, 0.24}},       // oval, some of the others
    {{0.21, 1.1}, {0.32, 1.7}, {0.12, 0.3}, {0.08, 0.2}, {0.029, 0.27}},  // three lobes, some of the others
    {{0.26, 0.19}, {0.4, 0.3}, {0.04, 0.3}, {0.12, 0.25}, {0.11, 0.13}},  // slight oval
    {{1.6, 0.21}, {1.4, 0.29}, {1.94, 0.3}, {1.42, 0.2}, {0.022, 0.51}},  // oval
    {{1.9, 0.57}, {1.1, 0.72}, {0.39, 0.37}, {0.28, 1.34}, {0.19, 1.1}},  // three lobes
    {{0.39, 1}, {0.38, 1.9}, {0.61, 1.19}, {0.09, 0.88}, {0.58, 1.1}},    // five lobes
    {{0.0028, 0.29},
     {0.0025, 0.32},
     {0.0025, 0.3},
     {0.06, 0.2},
     {0.051, 0.53}},  // an oval of several per cent
};

// Over 240 degrees, the last of the table, the points show much of the form, and both change with its size too: ln of the factor
// on mass and end is first * u + second * u^2, u = ln(tau / kUsual). Found and checked as the table.
struct BySize {
  std::array<double, 2> mass, ends_at;
};
constexpr double kUsual = 8e-4;
constexpr double kLeastEnd = 0.08, kMostEnd = 3.3;  // of ends_at: as far as the search went
constexpr BySize kLongest[] = {
    {{0.00, 0.00}, {0.00, 0.00}},    // round
    {{0.75, -0.80}, {1.50, 0.80}},   // orders 2 to 8 alike, few above
    {{-1.50, 0.80}, {-1.50, 0.80}},  // alike, more above
    {{0.09, -0.80}, {1.50, 0.73}},   // many undulations, falling
    {{1.05, 0.18}, {-1.50, 0.80}},   // oval, some of the others
    {{-1.50, 0.80}, {-0.75, 0.79}},  // three lobes, some of the others
    {{-1.47, 0.24}, {-1.50, 0.80}},  // slight oval
    {{0.88, 0.80}, {0.29, 0.48}},    // oval
    {{0.68, 0.06}, {-0.32, 0.27}},   // three lobes
    {{0.72, -0.75}, {-0.56, 0.71}},  // five lobes
    {{0.84, 0.34}, {-0.61, -0.43}},  // an oval of several per cent
};

OfKind at_node(std::size_t kind, std::size_t node, double tau) {
  OfKind of = kKindsOverArcs[kind][node];
  if (node + 1 == kArcs_rad.size() && tau > 0) {
    const double u = std::log(tau / kUsual);
    const auto factor = [&](const std::array<double, 2>& by) { return std::exp(u * (by[0] + by[1] * u)); };
    of.mass *= factor(kLongest[kind].mass);
    of.ends_at = std::clamp(of.ends_at * factor(kLongest[kind].ends_at), kLeastEnd, kMostEnd);
  }
  return of;
}

// 0 at `from` and before, 1 at `to` and beyond.
double share_of_way(double coverage_rad, double from, double to) {
  return std::clamp((coverage_rad - from) / (to - from), 0.0, 1.0);
}

void weigh(FormFamily& family, std::size_t kind, double coverage_rad) {
  std::size_t next = 1;
  while (next + 1 < kArcs_rad.size() && coverage_rad > kArcs_rad[next]) ++next;
  const double along = share_of_way(coverage_rad, kArcs_rad[next - 1], kArcs_rad[next]);
  family.mass = 1;
  for (std::size_t i = 0; i < family.tau_ratio.size(); ++i) {
    const OfKind from = at_node(kind, next - 1, family.tau_ratio[i]),
                 to = at_node(kind, next, family.tau_ratio[i]);
    family.tau_mass[i] *= std::lerp(from.mass, to.mass, along);
    family.ends_at.push_back(std::lerp(from.ends_at, to.ends_at, along));
  }
}
}  // namespace

// The undulations' shares above order 8 are those of a power of 1/k^2: with 0.3 for 0.4 of the rms the noise told left too little of
// them, and the radius of such parts over 240 degrees held in 91.9 % of 1,600.
FormPrior arc_form_prior(double coverage_rad) {
  constexpr double kMost = 5e-3;  // tau of a likely oval, of the radius
  // Large ovals and five lobes grow likelier with their size the shorter the arc.
  const double longer = share_of_way(coverage_rad, 2 * kPi / 3, kPi);
  FormPrior prior = {
      round_family(1, kColumns),
      form_family(1, with_higher_orders(flat_spectrum(), 0.2), 10, kLo, kHi, kTilt),
      form_family(1, with_higher_orders(flat_spectrum(), 0.5), 10, kLo, kHi, kTilt),
      form_family(1, with_higher_orders(falling_spectrum(), 0.4), 10, 3e-4, 3e-3, 0),
      form_family(1, one_order(2, 0.03), 8, kLo, kHi, kTilt),
      form_family(1, one_order(3, 0.03), 8, kLo, kHi, kTilt),
      form_family(1, one_order(2, kTight), 6, 3e-4, 1.2e-3, 0),
      form_family(1, one_order(2, kTight), 7, 1.2e-3, kMost, std::lerp(1.5, 0.7, longer)),
      form_family(1, one_order(3, kTight), 10, kLo, kHi, kTilt),
      form_family(1, one_order(5, kTight), 10, kLo, kHi, std::lerp(1.2, kTilt, longer)),
      form_family(1, one_order(2, kTight), 6, 2e-3, 4e-2, 0),
  };
  for (std::size_t i = 0; i < prior.size(); ++i) weigh(prior[i], i, coverage_rad);
  return prior;
}

const FormPrior& dense_arc_form_prior() {
  static const FormPrior prior = {
      round_family(0.08, kColumns),
      form_family(0.045, with_higher_orders(flat_spectrum(), 0.2), 10, kLo, kHi, kTilt),
      form_family(0.08, with_higher_orders(flat_spectrum(), 0.5), 10, kLo, kHi, kTilt),
      form_family(0.17, with_higher_orders(falling_spectrum(), 0.3), 8, kLo, kHi, kTilt),
      form_family(0.08, one_order(2, 0.03), 8, kLo, kHi, kTilt),
      form_family(0.03, one_order(3, 0.03), 8, kLo, kHi, kTilt),
      form_family(0.48, one_order(2, kTight), 10, kLo, 5e-3, 1.3),
      form_family(0.16, one_order(3, kTight), 10, kLo, kHi, kTilt),
      form_family(0.06, one_order(5, kTight), 10, kLo, kHi, kTilt),
      form_family(0.005, one_order(2, kTight), 6, 2e-3, 4e-2, 0),
  };
  return prior;
}

// Ovals weigh most, and the larger amplitudes (tilt), or half arcs of a slight oval fall short (91.7 % with
// equal masses).
FormPrior stated_form_prior(double out_of_round_ratio) {
  const double lo = 0.3 * out_of_round_ratio, hi = 0.8 * out_of_round_ratio;
  // Power of tau, as for parts of which nothing is stated; checked by study_readings_coverage (stated).
  constexpr double kTilt = 0.75;
  return {
      round_family(0.02, kColumns),
      form_family(0.20, flat_spectrum(), 4, lo, hi, kTilt),
      form_family(0.18, falling_spectrum(), 4, lo, hi, kTilt),
      form_family(0.26, one_order(2, 0.03), 4, lo, hi, kTilt),
      form_family(0.20, one_order(2, 0.001), 4, lo, hi, kTilt),
      form_family(0.14, one_order(3, 0.03), 4, lo, hi, kTilt),
  };
}

FormPrior no_form_prior() { return {round_family(1, 0)}; }

}  // namespace rondure
