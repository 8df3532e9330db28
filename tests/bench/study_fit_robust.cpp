// Radius error of the robust circle on parts with defects, sigma not given, in units of s = sigma / sqrt(n),
// the standard deviation of a clean part. Beside it least squares of the points that are good, told which
// (no fit can be expected to do better), and plain least squares of all points. Usage:
// study_fit_robust [parts a row = 1250] [seed = 404] [36 | 100 | 360 | clean]     (table on standard output)
//
// Parts: R 10 mm, sigma 5 um in x and y, n readings evenly round from a random start. Nib and defects: one
// height over a sector at a random place ("rough": heights uniform between a fifth of it and all of it).
// Slips: that share of the readings is off by a uniform amount within +- the height. Oval: 0.05 mm amplitude;
// lobes: 0.02 mm of three.
#include <fmt/format.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <random>
#include <string>
#include <vector>

#include "rondure/fit/robust_circle.hpp"

using namespace rondure;

namespace {

constexpr double kRadius = 10, kSigma = 0.005;
using Random = std::mt19937_64;
using Heights = std::vector<double>;

struct Row {
  const char* name;
  double reach;  // root mean square error / s; 0 = no figure set
  std::function<void(Heights&, Random&)> spoil;
  double oval = 0, lobes = 0;
};

std::function<void(Heights&, Random&)> sector(double degrees, double height, bool rough = false) {
  return [=](Heights& h, Random& random) {
    std::uniform_real_distribution<double> part(0.2, 1);
    const std::size_t n = h.size(),
                      count = static_cast<std::size_t>(std::floor(double(n) * degrees / 360 + 1e-9));
    const std::size_t first = random() % n;
    for (std::size_t i = 0; i < count; ++i) h[(first + i) % n] = height * (rough ? part(random) : 1);
  };
}

std::function<void(Heights&, Random&)> slips(double share, double height) {
  return [=](Heights& h, Random& random) {
    std::uniform_real_distribution<double> u(-height, height);
    for (auto left = static_cast<std::size_t>(share * double(h.size())); left > 0;)
      if (double& at = h[random() % h.size()]; at == 0) at = u(random), --left;
  };
}

// Root mean square of errors, and its own standard error (from their fourth moment: tails count).
struct RootMeanSquare {
  double square = 0, fourth = 0;
  int count = 0;
  void add(double error) { square += error * error, fourth += std::pow(error, 4), ++count; }
  double value() const { return std::sqrt(square / count); }
  double standard_error() const {
    const double mean = square / count;
    return std::sqrt(std::max(0.0, fourth / count - mean * mean) / count) / (2 * value());
  }
};

void run(const Row& row, int n, int parts, std::uint64_t seed) {
  Random random(seed);
  std::normal_distribution<double> noise(0, kSigma);
  std::uniform_real_distribution<double> angle(0, 2 * kPi);
  RootMeanSquare robust, outline, told, plain;
  double excluded = 0, sectors = 0, slips_found = 0, losing = 0;
  const double s = kSigma / std::sqrt(n);
  for (int k = 0; k < parts; ++k) {
    Heights h(static_cast<std::size_t>(n), 0.0);
    row.spoil(h, random);
    const double start = angle(random);
    std::vector<PartPoint> points, good;
    for (int i = 0; i < n; ++i) {
      const double t = start + 2 * kPi * i / n;
      const double r = kRadius + h[static_cast<std::size_t>(i)] + row.oval * std::cos(2 * t - 1) +
                       row.lobes * std::cos(3 * t);
      points.push_back({3 + r * std::cos(t) + noise(random), 7 + r * std::sin(t) + noise(random)});
      if (h[static_cast<std::size_t>(i)] == 0) good.push_back(points.back());
    }
    const auto error = [&](const Circle& c) { return (c.radius_mm - kRadius) / s; };
    const auto fit = fit_robust_circle(points).value();
    robust.add(error(fit.fit.circle)), outline.add(error(fit.outline_circle.value_or(fit.fit.circle)));
    told.add(error(fit_circle(good)->circle)), plain.add(error(fit_circle(points)->circle));
    excluded += n - fit.points_used, sectors += double(fit.sectors.size()),
        slips_found += double(fit.slips.size()), losing += fit.points_used < static_cast<int>(good.size());
  }
  fmt::print(
      "{:>4} {:<34} {:>5} {:>7.3f} {:>6.3f} {:>8.3f} {:>7.3f} {:>7.2f} {:>8.2f} {:>7.2f} {:>7.2f} {:>7.1f}\n",
      n, row.name, row.reach > 0 ? fmt::format("{:.2f}", row.reach) : "-", robust.value(),
      robust.standard_error(), outline.value(), told.value(), plain.value(), excluded / parts,
      sectors / parts, slips_found / parts, 100 * losing / parts);
}

// How many clean sets lose a point, four times as many sets a row; what that costs the radius.
void clean_rows(int parts, std::uint64_t seed) {
  fmt::print(
      "\nClean sets, {} a row: % that lose a point (stated {:.0f}), radius error / s\n{:>4} {:>7} {:>7} "
      "{:>7}\n",
      4 * parts, 100 * kFalseExclusion, "n", "lose", "+-", "robust");
  for (const int n : {6, 7, 8, 9, 10, 11, 12, 14, 16, 20, 24, 30, 36, 50, 60, 100}) {
    Random random(seed + static_cast<std::uint64_t>(n));
    std::normal_distribution<double> noise(0, kSigma);
    RootMeanSquare error;
    int losing = 0;
    for (int k = 0; k < 4 * parts; ++k) {
      std::vector<PartPoint> points;
      for (int i = 0; i < n; ++i) {
        const double t = 2 * kPi * i / n;
        points.push_back(
            {3 + kRadius * std::cos(t) + noise(random), 7 + kRadius * std::sin(t) + noise(random)});
      }
      const auto fit = fit_robust_circle(points).value();
      losing += fit.points_used < n;
      error.add((fit.fit.circle.radius_mm - kRadius) / (kSigma / std::sqrt(n)));
    }
    const double share = double(losing) / (4 * parts);
    fmt::print("{:>4} {:>7.2f} {:>7.2f} {:>7.3f}\n", n, 100 * share,
               100 * std::sqrt(share * (1 - share) / (4 * parts)), error.value());
  }
}

}  // namespace

int main(int argc, char** argv) {
  const int parts = argc > 1 ? std::max(10, std::atoi(argv[1])) : 1250;
  const std::uint64_t seed = argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 404;
  const std::string which = argc > 3 ? argv[3] : "all";
  std::setvbuf(stdout, nullptr, _IOLBF, 0);
  const auto none = [](Heights&, Random&) {};
  const Row rows[] = {{"clean", 1.03, none},
                      {"nib over 20 deg, 20 sigma", 1.15, sector(20, 20 * kSigma)},
                      {"nib over 20 deg, 8 sigma", 1.15, sector(20, 8 * kSigma)},
                      {"defect over 36 deg, 20 sigma", 1.2, sector(36, 20 * kSigma)},
                      {"defect over 36 deg, rough, -30", 1.2, sector(36, -30 * kSigma, true)},
                      {"defect over 108 deg, 20 sigma", 1.65, sector(108, 20 * kSigma)},
                      {"defect over 108 deg, rough, 30", 1.65, sector(108, 30 * kSigma, true)},
                      {"10 % slips within 100 sigma", 1.12, slips(0.1, 100 * kSigma)},
                      {"30 % slips within 100 sigma", 1.4, slips(0.3, 100 * kSigma)},
                      {"30 % slips within 20 sigma", 0, slips(0.3, 20 * kSigma)},
                      {"clean, oval", 1.03, none, 0.05},
                      {"clean, oval and three-lobed", 1.03, none, 0.05, 0.02},
                      {"nib over 20 deg, oval", 0, sector(20, 20 * kSigma), 0.05},
                      {"defect over 36 deg, oval", 0, sector(36, 20 * kSigma), 0.05},
                      {"10 % slips, oval and three-lobed", 0, slips(0.1, 100 * kSigma), 0.05, 0.02}};
  fmt::print(
      "Root mean square error of the radius / s, {} parts a row, seed {}; +-: its standard error. robust: "
      "geometric circle of the\npoints kept; outline: mean circle of the outline with its form; told: of the "
      "points that are good, told which; plain: all points.\nexcluded, sectors, slips: a part; losing: % of "
      "parts with fewer points kept than are good.\n\n",
      parts, seed);
  fmt::print("{:>4} {:<34} {:>5} {:>7} {:>6} {:>8} {:>7} {:>7} {:>8} {:>7} {:>7} {:>7}\n", "n", "part",
             "reach", "robust", "+-", "outline", "told", "plain", "excluded", "sectors", "slips", "losing");
  for (const int n : {36, 100, 360}) {
    if (which != "all" && which != std::to_string(n)) continue;
    for (const Row& row : rows) run(row, n, parts, seed);
    fmt::print("\n");
  }
  if (which == "all" || which == "clean") clean_rows(parts, seed);
}
