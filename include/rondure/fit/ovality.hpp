// Ovality D = a - b (difference of the semi-axes; the record's diameter ovality is 2 D) without the bias that noise and
// unseen form give it: best value, 95 % interval that may touch 0, chance of seeing as much on a round part.
//
// The second harmonic goes flat into the model (a prior on it would ruin the interval far from it): linearised at the
// orthogonal-distance ellipse x = c + S u(t), S = [[m+p, q], [q, m-p]], D = 2 sqrt(p^2 + q^2), every node j of
// form_model.hpp gives (p, q) ~ N(m_j, V_j). Confidence curve (derived; exact at D = 0, where it is the F(2, nu) test,
// and at large D, where it is Student's t):
//
//   p(D) = sum_j weight_j P(|d - u_j| >= T_j),   d = length of (u_j, 0) + unit two-dimensional Gaussian
//   T_j^2 = min over f of (e - m_j)' V_j^-1 (e - m_j),  e = (D/2)(cos f, sin f)
//   u_j = (D/2) sqrt(n' V_j^-1 n),  n = (-sin f, cos f) at the minimum
//
// 95 % interval: all D with p(D) >= 0.05. p(0) is the chance on a round part.
// Also flat, so that lobes do not pass for noise: orders 3 to 5 where 24 points or more lie all round, to 20 on dense edges. Random:
// the higher orders. On arcs of 180 to 330 deg a strong three-lobe looks like an oval and is not told from it.
// Below 180 deg ovality cannot be told.
#pragma once
#include <optional>
#include <span>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/fit/ellipse_fit.hpp"
#include "rondure/fit/form_radius.hpp"

namespace rondure {

struct OvalityEstimate {
  double ovality_mm = 0;    // D, corrected: sqrt(max(0, D_LS^2 - V_tangential))
  double u_ovality_mm = 0;  // standard: half the interval over 1.96, upwards where it begins at 0
  Interval ovality95_mm;
  double p_round = 1;
  double major_axis_rad = 0;  // of the estimate, [0, pi)
  double mean_radius_mm = 0;  // (a + b)/2
  double sigma_mm = 0;        // noise per point
};

// `options.form` kNone: no form but the ellipse. Errors: kTooFewPoints (n <= 5 with unknown sigma, n < 5), kArcTooShort.
Result<OvalityEstimate> estimate_ovality(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                                         const EllipseFit& ellipse, const FormRadiusOptions& options);

// Jittered readings of a half circle still count as one.
inline constexpr double kLeastArcForOvality_rad = 175 * kPi / 180;

// Terms of a two-dimensional mixture for the confidence curve (tests and other harmonics).
struct PlanarTerm {
  double weight = 0;
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  Eigen::Matrix2d variance = Eigen::Matrix2d::Identity();
};
// Chance of an estimate at least as far from length `amplitude` as this one: p(D) above with D/2 = amplitude.
double amplitude_confidence(std::span<const PlanarTerm> terms, double amplitude);
// All amplitudes with confidence of `level` or more.
Interval amplitude_interval(std::span<const PlanarTerm> terms, double level = 0.05);

}  // namespace rondure
