// The confidence curve of the length of a two-dimensional vector (ovality.hpp).
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <functional>
#include <vector>

#include "rondure/core/gauss_legendre.hpp"
#include "rondure/core/normal_law.hpp"
#include "rondure/fit/ovality.hpp"

namespace rondure {
namespace {

// Beyond 9 less than rounding leaves of 1.
double upper(double z) { return z > 9 ? 0 : normal_cdf(-z); }

// P(|d - u| < t), d = length of (u, 0) + unit Gaussian.
double inside(double u, double t) {
  // A piece is at most 8 standard deviations long: 24 nodes by judgement. What comes of it is checked by the
  // share of ovalities held in study_readings_coverage.
  constexpr int kNodes = 24;
  static const GaussLegendre<kNodes> rule;
  const double outer = u + t, inner = u - t;
  // For second component y the first lies within the ring: two pieces, kink where the ring's hole ends.
  const double far = std::min(outer, 8.0), kink = std::clamp(std::abs(inner), 0.0, far);
  const auto piece = [&](double from, double to) {
    if (!(to > from)) return 0.0;
    double sum = 0;
    for (int i = 0; i < kNodes; ++i) {
      const double y = 0.5 * (from + to) + 0.5 * (to - from) * rule.node[i];
      const double out = std::sqrt(std::max(0.0, outer * outer - y * y));
      const double in = inner > 0 ? std::sqrt(std::max(0.0, inner * inner - y * y)) : 0;
      // first component u + x in (in, out) or (-out, -in)
      const double chance = upper(in - u) - upper(out - u) + upper(in + u) - upper(out + u);
      sum += rule.weight[i] * chance * std::exp(-0.5 * y * y);
    }
    return 0.5 * (to - from) * sum / std::sqrt(2 * kPi);
  };
  return 2 * (inner > 0 ? piece(0, kink) + piece(kink, far) : piece(0, far));
}

// Nearest point of the circle of radius r in the metric V^-1, and the metric's stretch along the circle there.
struct Nearest {
  double t2, tangent2;
};
Nearest nearest_on_circle(const PlanarTerm& term, const Eigen::Matrix2d& inverse, double r) {
  const auto distance2 = [&](double f) {
    const Eigen::Vector2d d = Eigen::Vector2d(r * std::cos(f), r * std::sin(f)) - term.mean;
    return d.dot(inverse * d);
  };
  double best_f = std::atan2(term.mean.y(), term.mean.x()), best = distance2(best_f);
  // Nearly round metric: the start is the answer's neighbourhood. Else several minima are possible.
  constexpr int kStarts = 12;
  const double trace = inverse.trace();
  const bool nearly_round = trace * trace < 4.5 * inverse.determinant();
  for (int i = 0; i < kStarts && !nearly_round; ++i)
    if (const double f = 2 * kPi * i / kStarts, d = distance2(f); d < best) best = d, best_f = f;
  for (int step = 0; step < 12; ++step) {
    const Eigen::Vector2d e(r * std::cos(best_f), r * std::sin(best_f)), tangent(-e.y(), e.x());
    const Eigen::Vector2d pull = inverse * (e - term.mean);
    const double slope = tangent.dot(pull), bend = tangent.dot(inverse * tangent) - e.dot(pull);
    double change = bend > 0 ? -slope / bend : -std::copysign(0.1, slope);
    change = std::clamp(change, -0.3, 0.3);
    if (distance2(best_f + change) > best + 1e-12) change /= 4;
    best_f += change;
    best = distance2(best_f);
    if (std::abs(change) < 1e-7) break;
  }
  const Eigen::Vector2d n(-std::sin(best_f), std::cos(best_f));
  return {best, n.dot(inverse * n)};
}

// All but the lightest, which together weigh less than a millionth.
std::vector<PlanarTerm> weighty(std::span<const PlanarTerm> terms) {
  constexpr double kLeftOut = 1e-6;  // of the weight: nothing beside a level of 5 %
  std::vector<PlanarTerm> kept(terms.begin(), terms.end());
  std::ranges::sort(kept, std::greater(), &PlanarTerm::weight);
  double light = 0;
  while (kept.size() > 1 && light + kept.back().weight < kLeftOut)
    light += kept.back().weight, kept.pop_back();
  return kept;
}

}  // namespace

double amplitude_confidence(std::span<const PlanarTerm> terms, double amplitude) {
  double sum = 0;
  for (const PlanarTerm& term : terms) {
    const Eigen::Matrix2d inverse = term.variance.inverse();
    if (amplitude <= 0) {
      sum += term.weight * std::exp(-0.5 * term.mean.dot(inverse * term.mean));
      continue;
    }
    const Nearest nearest = nearest_on_circle(term, inverse, amplitude);
    const double u = amplitude * std::sqrt(nearest.tangent2), t = std::sqrt(std::max(0.0, nearest.t2));
    // Far from 0 the ring is straight: the normal law.
    sum += term.weight * (u > 60 ? 2 * upper(t) : 1 - inside(u, t));
  }
  return sum;
}

Interval amplitude_interval(std::span<const PlanarTerm> all_terms, double level) {
  const std::vector<PlanarTerm> terms = weighty(all_terms);
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  double spread2 = 0;
  for (const PlanarTerm& term : terms) mean += term.weight * term.mean;
  for (const PlanarTerm& term : terms)
    spread2 += term.weight * (term.variance.trace() + (term.mean - mean).squaredNorm());
  const double centre = mean.norm(), spread = std::sqrt(spread2);
  const auto excess = [&](double amplitude) { return amplitude_confidence(terms, amplitude) - level; };
  // Root between a point inside and one outside the interval, by the Illinois rule.
  const auto edge = [&](double inside_at, double inside_value, double outside_at, double outside_value) {
    double a = inside_at, fa = inside_value, b = outside_at, fb = outside_value;
    for (int i = 0; i < 60 && std::abs(b - a) > 1e-3 * spread; ++i) {
      const double x = i % 8 == 7 ? (a + b) / 2 : (a * fb - b * fa) / (fb - fa);
      const double fx = excess(x);
      if (fx >= 0) {
        a = x, fa = fx, fb /= 2;
      } else {
        b = x, fb = fx, fa /= 2;
      }
    }
    return (a + b) / 2;
  };
  Interval interval{0, centre};
  const double at_centre = std::max(excess(centre), 1e-6);
  if (const double at_zero = excess(0); at_zero < 0) interval.lo = edge(centre, at_centre, 0, at_zero);
  double step = 2 * spread, x = centre + step, fx = excess(x);
  while (fx >= 0 && step < 1e9 * spread) step *= 1.7, x = centre + step, fx = excess(x);
  interval.hi = edge(centre, at_centre, x, fx);
  return interval;
}

}  // namespace rondure
