// Invented parts for statistical tests and studies: random form, reading noise, readings rounded to a step.
#pragma once
#include <cmath>
#include <random>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace simulated {

using rondure::kPi;
using rondure::PartPoint;

struct Lobe {
  int order;
  double cos_ratio, sin_ratio;  // amplitudes in units of the radius
};

// r(t) = R (1 + sum of lobes); `oval_ratio`: a true ellipse with (a - b)/R of so much and mean radius R.
struct Part {
  double radius_mm = 10;
  PartPoint center;
  std::vector<Lobe> lobes;
  double oval_ratio = 0, oval_axis_rad = 0;
  Eigen::Vector2d at(double t) const {
    double r = 1;
    for (const Lobe& l : lobes)
      r += l.cos_ratio * std::cos(l.order * t) + l.sin_ratio * std::sin(l.order * t);
    const double f = t - oval_axis_rad;
    const double along = radius_mm * (r + oval_ratio / 2) * std::cos(f);
    const double across = radius_mm * (r - oval_ratio / 2) * std::sin(f);
    const double c = std::cos(oval_axis_rad), s = std::sin(oval_axis_rad);
    return center.vec() + Eigen::Vector2d(c * along - s * across, s * along + c * across);
  }
};

using Random = std::mt19937_64;

inline double uniform(Random& random, double lo, double hi) {
  return std::uniform_real_distribution<double>(lo, hi)(random);
}
inline double normal(Random& random) { return std::normal_distribution<double>()(random); }

// Form of the given amplitude sqrt(sum(a^2 + b^2)), its direction uniform over the orders first..last.
inline void add_form(Part& part, double amplitude_ratio, int first, int last, Random& random) {
  double sum = 0;
  const std::size_t from = part.lobes.size();
  for (int k = first; k <= last; ++k) {
    part.lobes.push_back({k, normal(random), normal(random)});
    sum += std::pow(part.lobes.back().cos_ratio, 2) + std::pow(part.lobes.back().sin_ratio, 2);
  }
  for (std::size_t i = from; i < part.lobes.size(); ++i) {
    part.lobes[i].cos_ratio *= amplitude_ratio / std::sqrt(sum);
    part.lobes[i].sin_ratio *= amplitude_ratio / std::sqrt(sum);
  }
}
inline void add_lobe(Part& part, int order, double amplitude_ratio, Random& random) {
  const double phase = uniform(random, 0, 2 * kPi);
  part.lobes.push_back({order, amplitude_ratio * std::cos(phase), amplitude_ratio * std::sin(phase)});
}

struct Reading {
  int points = 24;
  double arc_deg = 360;  // 360: all round; else both ends of the arc are read
  double sigma_mm = 0.0002 * 25.4;
  double step_mm = 0.0001 * 25.4;  // readings are rounded to it; 0 = not
  double jitter = 0.25;            // of the spacing, either way
  double correlation = 0;  // of neighbouring points' errors across the edge (first-order autoregression)
};

// A part of radius 6 to 15 mm somewhere on the stage.
inline Part random_part(Random& random) {
  Part part;
  part.radius_mm = uniform(random, 6, 15);
  part.center = {uniform(random, 20, 60), uniform(random, 20, 60)};
  part.oval_axis_rad = uniform(random, 0, kPi);
  return part;
}

inline std::vector<PartPoint> read(const Part& part, const Reading& how, Random& random) {
  std::vector<PartPoint> points;
  const bool full = how.arc_deg >= 360;
  const double spacing = rondure::rad(how.arc_deg) / (full ? how.points : how.points - 1);
  const double start = uniform(random, 0, 2 * kPi);
  double error = normal(random);
  for (int i = 0; i < how.points; ++i) {
    const double t = start + spacing * (i + how.jitter * uniform(random, -1, 1));
    Eigen::Vector2d p = part.at(t);
    if (how.correlation > 0) {
      if (i > 0)
        error = how.correlation * error + std::sqrt(1 - how.correlation * how.correlation) * normal(random);
      p += how.sigma_mm * error * (p - part.center.vec()).normalized();
    } else {
      p += how.sigma_mm * Eigen::Vector2d(normal(random), normal(random));
    }
    if (how.step_mm > 0) p = (p / how.step_mm).array().round().matrix() * how.step_mm;
    points.push_back(PartPoint::from(p));
  }
  return points;
}

}  // namespace simulated
