// How narrow the radius' interval can be where it must hold in 92 % of the parts of every kind, whoever answers; beside it what the
// program prints of such readings (study_readings_coverage has the whole table).
// Usage: study_readings_bound [draws of a kind = 400; 0: ours alone] [seed = 1] [check | only the rows whose name holds this] [weights]
//        study_readings_bound [draws] [seed] rows [only those] [least] [holds = 92]
//                 (one line a row: worst and mean of the eight kinds; least: the bound without the program, which it does not need;
//                 holds: per cent of the parts of every kind that it must hold in)
//
// An answer C names radii r for readings y. The y whose C holds r are a set A, the same for every r but for the move by r (an
// answer that treats some radii better than others gains nothing in the mean over radii that spread over many widths). Then the
// mean width for parts of kind h is the integral of m_h over A, m_h(y) = the density of y integrated over the radius (Pratt
// 1961, Length of confidence intervals, J. Am. Stat. Assoc. 56, from memory), and C holds for kind k with the integral of p_k
// over A, p_k the density at the true radius. For weights v_h >= 0 of the widths and l_k >= 0 no A that holds in 92 % has
//     sum v_h width_h < sum 0.92 l_k - integral of max(0, sum l_k p_k - sum v_h m_h)
// (duality; the best set is where sum l_k p_k > sum v_h m_h: Neyman and Pearson). Half of the draws choose the weights, the other
// half gives the figure, so that a lucky choice is no bound; what it comes to on the half that chose is too high by that luck, and the
// best answer lies between. Draws come from all p_k alike, so no term is large.
//     least: v on the kind of the line alone, as if the others' widths were of no account
//     mean:  v alike on the eight kinds, over the widths of who knows the kind: the mean of the eight ratios
//     worst: v chosen too, the largest of the eight ratios: no program has all of them below it
// Who answers may know each kind's law and size; only kind, size, phase, middle and radius are open, and where it is not told the
// noise (half to twice that of the row). Kinds that it must hold for: those of the coverage table, and sizes between them.
//
// "ours": mean width that `fit` prints of 60 parts; "held": in how many of them it holds, %. Widths over the mean width
// of the answer that is told the kind and the size of its form (kind_known, "exact").
//
// "check": round parts alone, noise told. The bound is then z over 1.96 where the normal law holds 92 % within z: 0.893.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <span>
#include <string>
#include <vector>

#include "exact_readings.hpp"
#include "fit/simulated_part.hpp"
#include "rondure/measure/measure_readings.hpp"

using namespace rondure;
using exact::Kind;
using simulated::Random;

namespace {

double holds = 0.92;
constexpr std::size_t kOurParts = 60;  // of a kind, that the program answers
bool ask_program = true;
std::size_t draws = 400;
unsigned long seed = 1;

constexpr auto kKinds = exact::believed_and(
    {{"oval 0.15 %", 2, 1.5e-3},    {"oval 0.2 %", 2, 2e-3},           {"oval 0.3 %", 2, 3e-3},
     {"oval 0.4 %", 2, 4e-3},       {"3 lobes 0.1 %", 3, 1e-3},        {"5 lobes 0.1 %", 5, 1e-3},
     {"oval 0.05 %", 2, 5e-4},      {"oval 0.07 %", 2, 7e-4},          {"3 lobes 0.03 %", 3, 3e-4},
     {"5 lobes 0.03 %", 5, 3e-4},   {"half a spectrum", -1, 0, 0.5},   {"2-8 alike 0.1 %", -2, 1e-3},
     {"oval 0.03 %", 2, 3e-4},      {"oval 0.12 %", 2, 1.2e-3},        {"oval 0.25 %", 2, 2.5e-3},
     {"3 lobes 0.07 %", 3, 7e-4},   {"3 lobes 0.14 %", 3, 1.4e-3},     {"5 lobes 0.07 %", 5, 7e-4},
     {"5 lobes 0.14 %", 5, 1.4e-3}, {"a quarter of one", -1, 0, 0.25}, {"2-8 alike 0.05 %", -2, 5e-4},
     {"2-8 alike 0.2 %", -2, 2e-3}});
constexpr std::size_t kShown = exact::kBelieved.size();  // the table's kinds; the others must hold too

struct Row {
  int points = 12;
  double noise = 3e-4, arc_deg = 120;
  bool told = false, careless = false;
  std::string name() const {
    return fmt::format("n {} {:.0f} deg noise/R {:.0e}{}{}", points, arc_deg, noise, told ? " told" : "",
                       careless ? " careless" : "");
  }
};

// Readings of one part over R, what a move of the middle does projected out, in units of the row's noise; y = form + noise.
struct Drawn {
  std::vector<double> at, radial;  // as read, over R, less 1
  Eigen::MatrixXd middle;
  Eigen::VectorXd one, y;
  std::array<Eigen::MatrixXd, 6> wave;  // cosine and sine, by order
};

// `factor`: its noise over that of the row.
Drawn draw(const Row& row, const Kind& kind, double factor, Random& random) {
  Drawn out;
  const double spacing = rad(row.arc_deg) / (row.arc_deg >= 360 ? row.points : row.points - 1);
  const double start = simulated::uniform(random, 0, 2 * kPi);  // spacing as in study_readings_coverage
  const double jitter = row.careless ? 0.5 : 0.25;
  for (int i = 0; i < row.points; ++i)
    out.at.push_back(start + spacing * (i + jitter * simulated::uniform(random, -1, 1)));
  if (row.careless) out.at[3] = out.at[4] + 0.1 * spacing;
  const auto n = static_cast<Eigen::Index>(out.at.size());
  const auto column = [&](auto of) {
    Eigen::VectorXd v(n);
    for (Eigen::Index i = 0; i < n; ++i) v[i] = of(out.at[static_cast<std::size_t>(i)]);
    return v;
  };
  out.middle = exact::columns(out.at, false).rightCols(2);
  const Eigen::LDLT<Eigen::Matrix2d> ldlt(Eigen::Matrix2d(out.middle.transpose() * out.middle));
  const auto seen = [&](const Eigen::VectorXd& v) -> Eigen::VectorXd {
    return (v - out.middle * ldlt.solve(out.middle.transpose() * v)) / row.noise;
  };
  Eigen::VectorXd y = column([&](double) { return factor * row.noise * simulated::normal(random); });
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
    Eigen::MatrixXd& wave = out.wave[static_cast<std::size_t>(k)];
    wave.resize(n, 2);
    wave.col(0) = seen(column([&](double t) { return std::cos(k * t); }));
    wave.col(1) = seen(column([&](double t) { return std::sin(k * t); }));
  }
  return out;
}

// ln of the mean over the phase of exp(b'w - w'Gw/2), w = (cos, sin).
double log_phase_mean(const Eigen::Vector2d& b, const Eigen::Matrix2d& g) {
  constexpr int kTable = 1 << 14;
  static const std::vector<Eigen::Vector2d> table = [] {
    std::vector<Eigen::Vector2d> t;
    for (int i = 0; i < kTable; ++i)
      t.emplace_back(std::cos(2 * kPi * i / kTable), std::sin(2 * kPi * i / kTable));
    return t;
  }();
  int phases = 32;
  while (phases < kTable && phases < 8 * std::sqrt(g.trace())) phases *= 2;
  std::array<double, kTable> term;
  double most = -1e300, sum = 0;
  for (int i = 0; i < phases; ++i) {
    const Eigen::Vector2d& w = table[static_cast<std::size_t>(i * (kTable / phases))];
    const double t = b.dot(w) - 0.5 * (w[0] * w[0] * g(0, 0) + w[1] * w[1] * g(1, 1)) - w[0] * w[1] * g(0, 1);
    term[static_cast<std::size_t>(i)] = t;
    most = std::max(most, t);
  }
  for (int i = 0; i < phases; ++i)
    if (const double t = term[static_cast<std::size_t>(i)] - most; t > -40) sum += std::exp(t);
  return most + std::log(sum / phases);
}

// ln p of the readings as those of a kind at the true radius, and ln m, over every radius alike (per R); a constant common to all
// left out. `factor` as in draw.
struct LogDensity {
  double at_radius, over_radii;
};
LogDensity log_density(const Row& row, const Kind& kind, double factor, const Drawn& d) {
  const auto n = static_cast<double>(d.y.size());
  const double f2 = factor * factor, oo = d.one.squaredNorm(), oy = d.one.dot(d.y);
  if (kind.order < 0) {
    const auto size = d.y.size();
    const Eigen::MatrixXd cov = exact::form_covariance(kind, d.at, false) / (row.noise * row.noise) +
                                f2 * Eigen::MatrixXd::Identity(size, size);
    const Eigen::LLT<Eigen::MatrixXd> root(cov);
    const Eigen::MatrixXd carried = root.solve(d.middle);
    const Eigen::Matrix2d free = d.middle.transpose() * carried;
    const auto weighed = [&](const Eigen::VectorXd& v) -> Eigen::VectorXd {
      return root.solve(v) - carried * free.ldlt().solve(carried.transpose() * v);
    };
    const double log_det = 2 * root.matrixLLT().diagonal().array().log().sum() +
                           std::log(free.determinant() / (d.middle.transpose() * d.middle).determinant());
    const Eigen::VectorXd one = weighed(d.one), y = weighed(d.y);
    const double o = d.one.dot(one), at = -0.5 * (log_det + d.y.dot(y));
    return {at, at + 0.5 * d.one.dot(y) * d.one.dot(y) / o + 0.5 * std::log(2 * kPi / o)};
  }
  const double common = -(n - 2) * std::log(factor);
  LogDensity out{common - 0.5 * d.y.squaredNorm() / f2,
                 common - 0.5 * (d.y.squaredNorm() - oy * oy / oo) / f2 + 0.5 * std::log(2 * kPi * f2 / oo)};
  if (kind.order == 0) return out;
  const double size = exact::rms_amplitude(kind, kind.order);
  const Eigen::MatrixXd& wave = d.wave[static_cast<std::size_t>(kind.order)];
  const Eigen::Matrix2d g = size * size / f2 * wave.transpose() * wave;
  const Eigen::Vector2d b = size / f2 * wave.transpose() * d.y, o = size / f2 * wave.transpose() * d.one;
  out.at_radius += log_phase_mean(b, g);
  out.over_radii += log_phase_mean(b - o * (oy / oo), g - o * o.transpose() * (f2 / oo));
  return out;
}

// Draws from all (kind, noise) alike: p_k over the density drawn from, m_h over it and over the width of who knows h.
struct Sample {
  Eigen::MatrixXd p, m;
};

// sum 0.92 l - mean of max(0, p l - m v), and its slopes.
double bound_of(const Sample& s, const Eigen::VectorXd& l, const Eigen::VectorXd& v,
                Eigen::VectorXd* by_l = nullptr, Eigen::VectorXd* by_v = nullptr) {
  const Eigen::VectorXd gain = s.p * l - s.m * v;
  const Eigen::VectorXd in = (gain.array() > 0).cast<double>() / static_cast<double>(gain.size());
  if (by_l) *by_l = (holds - (s.p.transpose() * in).array()).matrix();
  if (by_v) *by_v = s.m.transpose() * in;
  return holds * l.sum() - gain.dot(in);
}

struct Weights {
  Eigen::VectorXd l, v;
};

// The largest bound by steps in the logarithms (Kingma and Ba 2015, from memory). `free`: v too, its sum 1.
Weights best_weights(const Sample& s, Eigen::VectorXd v, bool free) {
  constexpr int kSteps = 1500;
  const auto kinds = s.p.cols();
  Eigen::VectorXd x = Eigen::VectorXd::Zero(kinds + v.size()), mean = x, square = x, slope = x;
  x.head(kinds).setConstant(-std::log(static_cast<double>(kinds)));
  Weights best{x.head(kinds).array().exp(), v};
  double most = -1e300;
  for (int step = 1; step <= kSteps; ++step) {
    const Eigen::VectorXd l = x.head(kinds).array().exp();
    if (free) v = x.tail(v.size()).array().exp(), v /= v.sum();
    Eigen::VectorXd by_l, by_v;
    const double bound = bound_of(s, l, v, &by_l, &by_v);
    if (bound > most) most = bound, best = {l, v};
    slope.head(kinds) = by_l.cwiseProduct(l);
    slope.tail(v.size()) = free ? Eigen::VectorXd(v.cwiseProduct((by_v.array() - by_v.dot(v)).matrix()))
                                : Eigen::VectorXd(Eigen::VectorXd::Zero(v.size()));
    mean = 0.9 * mean + 0.1 * slope;
    square = 0.99 * square + 0.01 * slope.cwiseAbs2();
    const double pace = 0.1 * std::pow(0.02, static_cast<double>(step) / kSteps);
    x.array() += pace * (mean / (1 - std::pow(0.9, step))).array() /
                 ((square / (1 - std::pow(0.99, step))).array().sqrt() + 1e-9);
    x = x.cwiseMax(-14.0);
  }
  return best;
}

struct Ours {
  double width = 0, exact = 0;  // mean, over R
  int parts = 0, held = 0;
};

// The text of the readings through the function that the commands call, R 10 mm. Who knows the kind: of all these parts.
Ours ours(const Row& row, const Kind& kind, const std::vector<Drawn>& parts) {
  constexpr double kRadius_mm = 10, kMiddle_mm = 40;
  Ours out;
  const int decimals = std::max(1, static_cast<int>(std::ceil(-std::log10(row.noise * kRadius_mm))) + 1);
  for (std::size_t i = 0; i < std::min(parts.size(), kOurParts); ++i) {
    const double exact = exact::kind_known(kind, parts[i].at, row.noise, row.told).radius;
    if (!ask_program) {
      ++out.parts, out.exact += 2 * exact;
      continue;
    }
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
    out.exact += 2 * exact;
  }
  out.width /= std::max(out.parts, 1), out.exact /= std::max(out.parts, 1);
  return out;
}

struct Constraint {
  Kind kind;
  double factor;
};

// `exact`: mean widths of who knows each shown kind.
std::array<Sample, 2> samples(const Row& row, const std::vector<Constraint>& all, std::span<const Kind> shown,
                              const std::vector<double>& exact, Random& random) {
  std::array<Sample, 2> out;
  const bool all_noises = all.size() > kKinds.size();
  const std::size_t each = std::max<std::size_t>(draws / (all_noises ? 2 : 1), 100) / 2;
  for (Sample& s : out) {
    s.p.resize(static_cast<Eigen::Index>(each * all.size()), std::ssize(all));
    s.m.resize(s.p.rows(), std::ssize(shown));
    for (Eigen::Index i = 0; i < s.p.rows(); ++i) {
      const Constraint& of = all[static_cast<std::size_t>(i) % all.size()];
      const Drawn drawn = draw(row, of.kind, of.factor, random);
      Eigen::VectorXd p(s.p.cols()), m(s.m.cols());
      for (Eigen::Index k = 0; k < p.size(); ++k) {
        const Constraint& c = all[static_cast<std::size_t>(k)];
        p[k] = log_density(row, c.kind, c.factor, drawn).at_radius;
      }
      for (Eigen::Index h = 0; h < m.size(); ++h)
        m[h] = log_density(row, shown[static_cast<std::size_t>(h)], 1, drawn).over_radii -
               std::log(exact[static_cast<std::size_t>(h)]);
      const double top = p.maxCoeff(), log_q = top + std::log((p.array() - top).exp().mean());
      s.p.row(i) = (p.array() - log_q).exp();
      s.m.row(i) = (m.array() - log_q).min(30).exp();
    }
  }
  return out;
}

// `rows`: the bound of one row in one line. Of a noise that is not told only that of the row is drawn: who answers may know it, and
// fewer demands leave a bound that holds.
void print_short(const Row& row) {
  Random random(seed * 1000003 + static_cast<unsigned long>(row.points * 7919 + std::lround(row.arc_deg)));
  const std::span<const Kind> shown = std::span(kKinds).first(kShown);
  std::vector<Constraint> all;
  for (const Kind& kind : kKinds) all.push_back({kind, 1});
  std::vector<double> exact;
  double mean = 0, worst = 0, held = 100;
  const char* of = "";
  for (const Kind& kind : shown) {
    std::vector<Drawn> parts;
    for (std::size_t i = 0; i < kOurParts; ++i) parts.push_back(draw(row, kind, 1, random));
    const Ours o = ours(row, kind, parts);
    exact.push_back(o.exact);
    const double over = o.width / o.exact;
    mean += over / static_cast<double>(kShown), held = std::min(held, 100.0 * o.held / o.parts);
    if (over > worst) worst = over, of = kind.name;
  }
  fmt::print("{:<44}", row.name());
  if (draws > 0) {
    const std::array<Sample, 2> half = samples(row, all, shown, exact, random);
    const auto least = [&](bool free) {
      const Weights best = best_weights(half[0], Eigen::VectorXd::Constant(kShown, 1.0 / kShown), free);
      return std::array{bound_of(half[1], best.l, best.v), bound_of(half[0], best.l, best.v)};
    };
    const auto all_below = least(true), mean_of = least(false);
    fmt::print("{:>7.2f}{:>7.2f} |{:>6.2f}{:>6.2f}", all_below[0], mean_of[0], all_below[1], mean_of[1]);
  }
  if (ask_program) fmt::print("   {:>7.2f}{:>7.2f}  {:<16}{:>7.1f}", worst, mean, of, held);
  fmt::print("\n");
  std::fflush(stdout);
}

void print_row(const Row& row, bool check, bool weights) {
  Random random(seed * 1000003 + static_cast<unsigned long>(row.points * 7919 + std::lround(row.arc_deg)));
  const std::vector<Kind> kinds(std::begin(kKinds), check ? std::begin(kKinds) + 1 : std::end(kKinds));
  const std::span<const Kind> shown = std::span(kinds).first(std::min(kinds.size(), kShown));
  std::vector<Constraint> all;
  for (const Kind& kind : kinds)
    for (const double factor : row.told ? std::vector{1.0} : std::vector{0.5, 0.7, 1.0, 1.4, 2.0})
      all.push_back({kind, factor});
  std::vector<Ours> our;
  std::vector<double> exact;
  for (const Kind& kind : shown) {
    std::vector<Drawn> parts;
    for (std::size_t i = 0; i < kOurParts; ++i) parts.push_back(draw(row, kind, 1, random));
    our.push_back(ours(row, kind, parts));
    exact.push_back(our.back().exact);
  }
  const std::array<Sample, 2> half = samples(row, all, shown, exact, random);
  const auto count = std::ssize(shown);
  const auto least = [&](const Eigen::VectorXd& v, bool free) {
    const Weights best = best_weights(half[0], v, free);
    if (weights && v.maxCoeff() < 1) {
      Eigen::VectorXd by_l, by_v;
      bound_of(half[1], best.l, best.v, &by_l, &by_v);
      for (std::size_t k = 0; k < all.size(); ++k)
        fmt::print("    {:<16}{:>5.1f}  l {:.4f}  held {:.3f}\n", all[k].kind.name, all[k].factor,
                   best.l[static_cast<Eigen::Index>(k)], holds - by_l[static_cast<Eigen::Index>(k)]);
      for (Eigen::Index h = 0; h < count; ++h)
        fmt::print("    {:<16} v {:.4f}  width {:.3f}\n", shown[static_cast<std::size_t>(h)].name, best.v[h],
                   by_v[h]);
    }
    return bound_of(half[1], best.l, best.v);
  };
  double mean = 0, worst = 0;
  for (Eigen::Index h = 0; h < count; ++h) {
    const Ours& o = our[static_cast<std::size_t>(h)];
    const double alone = least(Eigen::VectorXd::Unit(count, h), false), over = o.width / o.exact;
    mean += over / static_cast<double>(count), worst = std::max(worst, over);
    fmt::print("{:<36}{:<16}{:>10.6f}{:>8.2f}{:>8.2f}{:>7.1f}   {}\n", row.name(),
               shown[static_cast<std::size_t>(h)].name, o.exact, over, alone, 100.0 * o.held / o.parts,
               over <= 1.3    ? ""
               : alone >= 1.3 ? "out of reach"
                              : "not reached");
    std::fflush(stdout);
  }
  const Eigen::VectorXd alike = Eigen::VectorXd::Constant(count, 1.0 / static_cast<double>(count));
  fmt::print("{:<36}{:<26}{:>8.2f}{:>8.2f}\n", row.name(), "mean of these", mean, least(alike, false));
  const double all_below = least(alike, true);
  fmt::print("{:<36}{:<26}{:>8.2f}{:>8.2f}{:>7}   {}\n", row.name(), "worst of these", worst, all_below, "",
             worst <= 1.3       ? ""
             : all_below >= 1.3 ? "1.3 for all is out of reach"
                                : "not reached");
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 1) draws = static_cast<std::size_t>(std::max(0, std::atoi(argv[1])));
  if (argc > 2) seed = std::strtoul(argv[2], nullptr, 10);
  const std::string which = argc > 3 ? argv[3] : "";
  const bool weights = argc > 4;
  fmt::print(
      "Mean width of the radius' 95 % interval over that of who knows the kind: {} draws of a kind, seed "
      "{}\n",
      draws, seed);
  if (which == "rows") {
    const std::string only = argc > 4 ? argv[4] : "";
    ask_program = argc <= 5;
    if (argc > 6) holds = std::atof(argv[6]) / 100;
    fmt::print("{:<44}{}{}\n", "", draws > 0 ? "  least: worst, mean | on the draws that chose" : "",
               ask_program ? "   ours: worst, mean, of, lowest held" : "");
    for (const double arc : {240.0, 180.0, 120.0, 60.0})
      for (const bool told : {true, false})
        for (const bool careless : {false, true})
          for (const int n : {8, 12, 16, 24, 50})
            if (const Row row{n, 3e-4, arc, told, careless}; row.name().find(only) != std::string::npos)
              print_short(row);
    return 0;
  }
  fmt::print("{:<52}{:>10}{:>8}{:>8}{:>7}\n", "", "exact/R", "ours", "least", "held");
  if (which == "check") {
    print_row({24, 3e-4, 120, true}, true, weights);
    return 0;
  }
  std::vector<Row> rows = {{6, 1e-4, 360, true}};
  for (const double arc : {240.0, 180.0, 120.0, 60.0}) {
    for (const int n : {8, 12, 16, 24, 50}) rows.push_back({n, 3e-4, arc, false});
    for (const double noise : {1e-5, 3e-3}) rows.push_back({12, noise, arc, false});
    for (const int n : {12, 24}) {
      rows.push_back({n, 3e-4, arc, true});
      rows.push_back({n, 3e-4, arc, false, true});
    }
  }
  for (const Row& row : rows)
    if (row.name().find(which) != std::string::npos) print_row(row, false, weights);
}
