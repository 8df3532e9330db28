// How narrow the radius' interval can be for parts of one kind when it must hold in 92 % of the parts of every other kind
// too, whoever answers; beside it what the program prints of such readings (study_readings_coverage has the whole table).
// Usage: study_readings_bound [parts drawn of a kind = 300] [seed = 1] [check | only the rows whose name holds this]
//
// "least", a lower bound for every program. The mean width of an interval C for parts of kind h and radius R is the integral
// over r of P_h(r in C) (Pratt 1961, Length of confidence intervals, J. Am. Stat. Assoc. 56, from memory). The readings whose C
// holds r make a set of probability 0.92 or more under each kind k of radius r; of such sets none is less probable under h than
// that of the largest ratios of the two densities (Neyman and Pearson). The largest such figure over k, at each r, is
// integrated; half of the draws choose k, the other half gives the figure, so that luck is no bound. Who answers may know the
// noise and, of each kind, the size of its form: only kind, phase and middle are open (densities with the middle integrated
// over a flat prior, the phase over a circle). Kinds: those of the coverage table, and ovals of 0.2 and 0.3 %, which an answer
// that holds for 0.1 and 0.5 % must hold for too. It is a bound, not what somebody reaches.
//
// "ours": mean width that `fit` prints of the first 60 parts; "held": in how many of them it holds, %. Widths over the mean
// width of the answer that is told the kind and the size of its form (kind_known, "exact").
//
// "check": round parts alone, noise told. The bound is then z Phi(z) + phi(z) with Phi(z) = 0.92, over 1.96: 0.735.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <string>
#include <vector>

#include "exact_readings.hpp"
#include "fit/simulated_part.hpp"
#include "rondure/measure/measure_readings.hpp"

using namespace rondure;
using exact::Kind;
using simulated::Random;

namespace {

constexpr double kHolds = 0.92;
constexpr std::size_t kOurParts = 60;  // of a kind, that the program answers
std::size_t draws = 300;
unsigned long seed = 1;

constexpr auto kKinds = exact::believed_and({{"oval 0.2 %", 2, 2e-3}, {"oval 0.3 %", 2, 3e-3}});
constexpr std::size_t kShown = exact::kBelieved.size();  // the table's kinds; the others must hold too

struct Row {
  int points = 12;
  double noise = 3e-4, arc_deg = 120;
  bool told = false;
  std::string name() const {
    return fmt::format("n {} {:.0f} deg noise/R {:.0e}{}", points, arc_deg, noise, told ? " told" : "");
  }
};

// Readings of one part over R: y = form + noise, what a move of the middle does projected out, in units of the noise.
struct Drawn {
  std::vector<double> at, radial;  // as read, over R, less 1
  Eigen::VectorXd one, y;
  std::array<Eigen::VectorXd, 6> cosine, sine;  // by order
  Eigen::MatrixXd spectrum;                     // inverse covariance, the middle projected out
  double spectrum_log_det = 0;
};

Drawn draw(const Row& row, const Kind& kind, Random& random) {
  Drawn out;
  const double spacing = rad(row.arc_deg) / (row.arc_deg >= 360 ? row.points : row.points - 1);
  const double start = simulated::uniform(random, 0, 2 * kPi);  // even spacing as in study_readings_coverage
  for (int i = 0; i < row.points; ++i)
    out.at.push_back(start + spacing * (i + 0.25 * simulated::uniform(random, -1, 1)));
  const auto n = static_cast<Eigen::Index>(out.at.size());
  const auto column = [&](auto of) {
    Eigen::VectorXd v(n);
    for (Eigen::Index i = 0; i < n; ++i) v[i] = of(out.at[static_cast<std::size_t>(i)]);
    return v;
  };
  const Eigen::MatrixXd middle = exact::columns(out.at, false).rightCols(2);
  const Eigen::LDLT<Eigen::Matrix2d> ldlt(Eigen::Matrix2d(middle.transpose() * middle));
  const auto seen = [&](const Eigen::VectorXd& v) -> Eigen::VectorXd {
    return (v - middle * ldlt.solve(middle.transpose() * v)) / row.noise;
  };
  Eigen::VectorXd y = column([&](double) { return row.noise * simulated::normal(random); });
  const double phase = simulated::uniform(random, 0, 2 * kPi);
  for (const int k : exact::orders_of(kind)) {
    const double size = exact::rms_amplitude(kind, k), free = size / std::sqrt(2.0);
    const double a = kind.order > 0 ? size * std::cos(phase) : free * simulated::normal(random);
    const double b = kind.order > 0 ? size * std::sin(phase) : free * simulated::normal(random);
    y += column([&](double t) { return a * std::cos(k * t) + b * std::sin(k * t); });
  }
  out.radial.assign(y.data(), y.data() + n);
  out.one = seen(Eigen::VectorXd::Ones(n)), out.y = seen(y);
  for (const int k : {2, 3, 5}) {
    out.cosine[static_cast<std::size_t>(k)] = seen(column([&](double t) { return std::cos(k * t); }));
    out.sine[static_cast<std::size_t>(k)] = seen(column([&](double t) { return std::sin(k * t); }));
  }
  const Eigen::MatrixXd cov = exact::form_covariance({"", -1, 0}, out.at, false) / (row.noise * row.noise) +
                              Eigen::MatrixXd::Identity(n, n);
  const Eigen::LLT<Eigen::MatrixXd> root(cov);
  const Eigen::MatrixXd inverse = root.solve(Eigen::MatrixXd::Identity(n, n)), carried = inverse * middle;
  const Eigen::Matrix2d free = middle.transpose() * carried;
  out.spectrum = inverse - carried * free.inverse() * carried.transpose();
  out.spectrum_log_det = 2 * root.matrixLLT().diagonal().array().log().sum() +
                         std::log(free.determinant() / (middle.transpose() * middle).determinant());
  return out;
}

// ln density of the readings as those of `kind` whose radius is larger by d; a constant common to all kinds left out.
double log_density(const Kind& kind, const Drawn& drawn, double d) {
  const Eigen::VectorXd w = drawn.y - d * drawn.one;
  if (kind.order == 0) return -0.5 * w.squaredNorm();
  if (kind.order < 0) return -0.5 * (drawn.spectrum_log_det + w.dot(drawn.spectrum * w));
  const double size = exact::rms_amplitude(kind, kind.order);
  const auto order = static_cast<std::size_t>(kind.order);
  const Eigen::VectorXd c = size * drawn.cosine[order], s = size * drawn.sine[order];
  const double wc = w.dot(c), ws = w.dot(s), cc = c.squaredNorm(), ss = s.squaredNorm(), cs = c.dot(s);
  const int phases = std::clamp(static_cast<int>(8 * std::sqrt(cc + ss)), 32, 512);
  std::array<double, 512> term;
  double most = -1e300, sum = 0;
  for (int i = 0; i < phases; ++i) {
    const double u = std::cos(2 * kPi * i / phases), v = std::sin(2 * kPi * i / phases);
    const double t = u * wc + v * ws - 0.5 * (u * u * cc + v * v * ss + 2 * u * v * cs);
    term[static_cast<std::size_t>(i)] = t;
    most = std::max(most, t);
  }
  for (int i = 0; i < phases; ++i) sum += std::exp(std::max(term[static_cast<std::size_t>(i)] - most, -40.0));
  return -0.5 * w.squaredNorm() + most + std::log(sum / phases);
}

double quantile(std::vector<double> v, double share) {
  const auto at = v.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(v.size()));
  std::nth_element(v.begin(), at, v.end());
  return *at;
}

// The mean width over R: both sides of R alike.
double least_width(const Kind& h, const std::vector<Drawn>& of_h, const std::vector<Kind>& kinds,
                   const std::vector<std::vector<Drawn>>& drawn, double step) {
  double at = 0, before = 0, width = 0;
  for (int node = 0; node < 40; ++node) {
    double chooser = 0, now = 0;
    for (std::size_t k = 0; k < kinds.size(); ++k) {
      std::vector<double> under_k;
      for (const Drawn& d : drawn[k])  // its own radius is larger by `at`
        under_k.push_back(log_density(kinds[k], d, 0) - log_density(h, d, -at));
      const double limit = quantile(std::move(under_k), 1 - kHolds);
      std::array<double, 2> accepted{};
      for (std::size_t i = 0; i < of_h.size(); ++i)
        accepted[i % 2] += log_density(kinds[k], of_h[i], at) - log_density(h, of_h[i], 0) >= limit;
      for (double& a : accepted) a /= static_cast<double>(of_h.size()) / 2;
      if (accepted[0] > chooser) chooser = accepted[0], now = accepted[1];
    }
    if (node > 0) width += step * (before + now);
    if (now < 0.01 && node > 3) break;
    before = now;
    if (node > 0) step *= 1.15;
    at += step;
  }
  return width;
}

struct Ours {
  double width = 0, exact = 0;  // mean, over R
  int parts = 0, held = 0;
};

// The text of the readings through the function that the commands call, R 10 mm.
Ours ours(const Row& row, const Kind& kind, const std::vector<Drawn>& parts) {
  constexpr double kRadius_mm = 10, kMiddle_mm = 40;
  Ours out;
  const int decimals = std::max(1, static_cast<int>(std::ceil(-std::log10(row.noise * kRadius_mm))) + 1);
  for (std::size_t i = 0; i < std::min(parts.size(), kOurParts); ++i) {
    std::string text = "# unit: mm\n";
    for (std::size_t j = 0; j < parts[i].at.size(); ++j) {
      const double r = kRadius_mm * (1 + parts[i].radial[j]), t = parts[i].at[j];
      text += fmt::format("{:.{}f},{:.{}f}\n", kMiddle_mm + r * std::cos(t), decimals,
                          kMiddle_mm + r * std::sin(t), decimals);
    }
    OutlineOptions options;
    if (row.told) options.sigma_mm = row.noise * kRadius_mm;
    const auto feature = measure_readings(*parse_points(text), nullptr, options);
    if (!feature || !feature->circle->diameter95_mm) continue;
    ++out.parts, out.held += feature->circle->diameter95_mm->contains(2 * kRadius_mm);
    out.width += feature->circle->diameter95_mm->width() / (2 * kRadius_mm);
    out.exact += 2 * exact::kind_known(kind, parts[i].at, row.noise, row.told).radius;
  }
  out.width /= std::max(out.parts, 1), out.exact /= std::max(out.parts, 1);
  return out;
}

void print_row(const Row& row, bool check) {
  Random random(seed * 1000003 + static_cast<unsigned long>(row.points * 7919 + std::lround(row.arc_deg)));
  const std::vector<Kind> kinds(std::begin(kKinds), check ? std::begin(kKinds) + 1 : std::end(kKinds));
  std::vector<std::vector<Drawn>> drawn(kinds.size());
  for (std::size_t k = 0; k < kinds.size(); ++k)
    for (std::size_t i = 0; i < draws; ++i) drawn[k].push_back(draw(row, kinds[k], random));
  for (std::size_t k = 0; k < std::min(kinds.size(), kShown); ++k) {
    std::vector<Drawn> of_h;
    for (std::size_t i = 0; i < draws; ++i) of_h.push_back(draw(row, kinds[k], random));
    const Ours our = ours(row, kinds[k], of_h);
    const double least = least_width(kinds[k], of_h, kinds, drawn, our.exact / 10) / our.exact;
    const double over = our.width / our.exact;
    fmt::print("{:<36}{:<16}{:>10.6f}{:>8.2f}{:>8.2f}{:>7.1f}   {}\n", row.name(), kinds[k].name, our.exact,
               over, least, 100.0 * our.held / our.parts,
               over <= 1.3    ? ""
               : least >= 1.3 ? "out of reach"
                              : "not reached");
    std::fflush(stdout);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 1) draws = static_cast<std::size_t>(std::max(100, std::atoi(argv[1])));
  if (argc > 2) seed = std::strtoul(argv[2], nullptr, 10);
  const std::string which = argc > 3 ? argv[3] : "";
  fmt::print(
      "Mean width of the radius' 95 % interval over that of who knows the kind: {} parts of a kind, seed "
      "{}\n",
      draws, seed);
  fmt::print("{:<52}{:>10}{:>8}{:>8}{:>7}\n", "", "exact/R", "ours", "least", "held");
  if (which == "check") {
    print_row({24, 3e-4, 120, true}, true);
    return 0;
  }
  std::vector<Row> rows = {{6, 1e-4, 360, true}};
  for (const double arc : {240.0, 180.0, 120.0, 60.0}) {
    for (const int n : {12, 24, 50}) rows.push_back({n, 3e-4, arc, false});
    rows.push_back({12, 1e-5, arc, false});
    rows.push_back({24, 3e-4, arc, true});
  }
  for (const Row& row : rows)
    if (row.name().find(which) != std::string::npos) print_row(row, false);
}
