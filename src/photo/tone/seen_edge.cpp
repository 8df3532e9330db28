#include "photo/tone/seen_edge.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

#include "photo/edge/normal_table.hpp"

namespace rondure {
namespace {

// Samples over an edge's band, two to five a blur, and rounds of Gauss-Newton at most: resources, by
// judgement; tests/photo/test_seen_edge.cpp checks the answers.
constexpr int kSamples = 45, kRounds = 25;
constexpr double kSettled = 1e-8;  // of the blur: the last step; tone_evidence.cpp takes slopes of answers

struct Sample {
  double t = 0, stored = 0;
};
using Samples = std::array<Sample, kSamples>;

// Gauss-Newton for A, B, d and sb; with `terms` 6 one step of skew and peak too.
template <int terms>
Eigen::Vector<double, terms> step_of(const Samples& samples, const ToneTable& tone,
                                     const Eigen::Vector4d& p) {
  Eigen::Matrix<double, terms, terms> n = Eigen::Matrix<double, terms, terms>::Zero();
  Eigen::Vector<double, terms> g = Eigen::Vector<double, terms>::Zero();
  const NormalTable& normal = normal_table();
  for (const Sample& s : samples) {
    const double z = (s.t - p[2]) / p[3], share = normal.share(z), density = normal.bell(z);
    double value = 0, slope = 0;
    tone.at(p[0] + p[1] * share, value, slope);
    const double rise = slope * p[1] * density;
    Eigen::Vector<double, terms> j;
    j.template head<4>() << slope, slope * share, -rise / p[3], -rise * z / p[3];
    if constexpr (terms == 6) j.template tail<2>() << rise * (z * z - 1), rise * z * (z * z - 3);
    n.noalias() += j * j.transpose();
    g.noalias() += (s.stored - value) * j;
  }
  return n.ldlt().solve(g);
}

}  // namespace

SeenEdge seen_edge(const ToneCurve& camera, const ToneCurve& assumed, const ToneTable& assumed_table,
                   const EdgeLook& look, const SeenEdge* near) {
  const SeenEdge as_it_is{0, look.blur_px, 0, 0, {}};
  const double dark = std::clamp(look.dark_light, 0.0, 1.0), bright = std::clamp(look.bright_light, 0.0, 1.0);
  if (!(bright > dark) || !(look.blur_px > 0)) return as_it_is;
  const double lo = camera.light(assumed.sample(dark)), hi = camera.light(assumed.sample(bright));
  if (!(hi > lo)) return as_it_is;
  const double half = side_band_half_width_px(look.blur_px);
  const NormalTable& normal = normal_table();
  Samples samples;
  for (int i = 0; i < kSamples; ++i) {
    const double t = half * (2.0 * i / (kSamples - 1) - 1);
    samples[static_cast<std::size_t>(i)] = {t,
                                            camera.sample(lo + (hi - lo) * normal.share(t / look.blur_px))};
  }
  Eigen::Vector4d p(dark, bright - dark, 0, look.blur_px);
  if (near && near->fit[1] > 0) p = Eigen::Map<const Eigen::Vector4d>(near->fit.data());
  bool settled = false;
  for (int round = 0; round < kRounds && !settled; ++round) {
    Eigen::Vector4d step = step_of<4>(samples, assumed_table, p);
    if (!step.allFinite()) return as_it_is;
    step /= std::max({1.0, std::abs(step[2]) / (0.5 * look.blur_px), std::abs(step[3]) / (0.3 * p[3])});
    p += step;
    settled = step.tail<2>().norm() < kSettled * look.blur_px;
  }
  if (!(p[1] > 0) || !(p[3] > 0.2 * look.blur_px)) return as_it_is;
  const Eigen::Vector<double, 6> more = step_of<6>(samples, assumed_table, p);
  const double light_over_fit = look.blur_px / p[3];  // lengths go with the blur
  return {p[2] * light_over_fit, look.blur_px * light_over_fit, more[4], more[5], {p[0], p[1], p[2], p[3]}};
}

}  // namespace rondure
