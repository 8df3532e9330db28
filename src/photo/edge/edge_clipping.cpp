#include "photo/edge/edge_clipping.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "rondure/core/geometry.hpp"
#include "rondure/core/normal_law.hpp"

namespace rondure {
namespace {

constexpr double kNoIdea_px = 2;  // u where the profile tells nothing, and the most ever said; by judgement
constexpr double kLost_px =
    1;  // a place known no better than this is none: the clipped light's own edge is kept

struct Normal {
  Eigen::Matrix4d n = Eigen::Matrix4d::Zero();
  Eigen::Vector4d r = Eigen::Vector4d::Zero();
  double cost = 0;
  int bins = 0;
};

// q: dark, bright, displacement, log blur.
Normal normal_equations(const StepProfile& profile, const Eigen::Vector4d& q,
                        const std::function<double(double)>& variance) {
  Normal out;
  const double blur = std::exp(q[3]);
  for (int b = 0; b <= 2 * StepProfile::kHalf; ++b) {
    const double count = profile.count[b];
    if (count < 3) continue;
    if (profile.unclipped[b] < 0.98 * count) break;  // from here on towards the bright side
    const double t = (b - StepProfile::kHalf) * kClippedBin_px, z = (t - q[2]) / blur, share = normal_cdf(z);
    const double miss = profile.sum[b] / count - (q[0] + (q[1] - q[0]) * share);
    const double w = count / variance(std::min(share, 1.0)), slope = (q[1] - q[0]) * normal_density(z);
    const Eigen::Vector4d g(1 - share, share, -slope / blur, -slope * z);
    out.n += w * g * g.transpose();
    out.r += w * miss * g;
    out.cost += w * miss * miss, ++out.bins;
  }
  return out;
}

bool is_sane(const Eigen::Vector4d& q) {
  return q.allFinite() && q[3] > -1.2 && q[3] < 2.1 && std::abs(q[2]) < 10 && q[1] < 20;
}

}  // namespace

void StepProfile::add(double t_px, double light, bool clipped) {
  const int b = static_cast<int>(std::lround(t_px / kClippedBin_px)) + kHalf;
  if (b < 0 || b > 2 * kHalf) return;
  sum[b] += light, count[b] += 1;
  if (!clipped) unclipped[b] += 1;
}

ClippedStep fit_clipped_step(const StepProfile& profile, const ClippedStep& start,
                             const std::function<double(double)>& variance) {
  Eigen::Vector4d p(start.dark, start.bright, start.d_px, std::log(start.blur_px));
  Normal now = normal_equations(profile, p, variance);
  double damping = 1e-3;
  for (int round = 0; round < 100 && damping < 1e8; ++round) {
    Eigen::Matrix4d damped = now.n;
    damped.diagonal() *= 1 + damping;
    const Eigen::Vector4d trial = p + damped.ldlt().solve(now.r);
    Normal next;
    const bool sane = is_sane(trial);
    if (sane) next = normal_equations(profile, trial, variance);
    if (!sane || next.cost > now.cost) {
      damping *= 6;
      continue;
    }
    const bool settled = now.cost - next.cost < 1e-7 * now.cost;
    p = trial, now = next, damping = std::max(damping * 0.2, 1e-9);
    if (settled) break;
  }
  const double misfit = std::max(1.0, now.cost / std::max(1, now.bins - 4));
  const double variance_d = now.n.ldlt().solve(Eigen::Vector4d::Unit(2))[2];
  const double u_d_px = variance_d > 0 ? std::sqrt(misfit * variance_d) : kNoIdea_px;
  if (!(u_d_px < kLost_px)) return {start.dark, start.bright, start.d_px, start.blur_px, kNoIdea_px};
  return {p[0], p[1], p[2], std::exp(p[3]), u_d_px};
}

double u_jpeg_clipping_px(const std::array<std::uint16_t, 64>& jpeg_steps, const ClippedStep& step) {
  // Fitted to drawn discs: edge_clipping.hpp says which. The bounds are judgement.
  constexpr double kScale = 0.610, kOfFit = 0.345, kOfBlur = -0.545,
                   kOfDark = 0.834;  // the step's power is 1
  constexpr double kLeastFit_px = 0.005, kLeastDark = 0.05, kLeast_px = 0.02;
  double sum = 0;
  int count = 0;
  for (std::size_t row = 0; row < 4; ++row)
    for (std::size_t column = 0; column < 4; ++column)
      if (row + column > 0) sum += jpeg_steps[8 * row + column], ++count;
  if (sum == 0) return kNoIdea_px;
  const double u_px = kScale * (sum / count) * std::pow(std::max(step.u_d_px, kLeastFit_px), kOfFit) *
                      std::pow(step.blur_px, kOfBlur) * std::pow(std::max(step.dark, kLeastDark), kOfDark);
  return std::clamp(u_px, kLeast_px, kNoIdea_px);
}

}  // namespace rondure
