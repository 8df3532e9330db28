// Random-form model of an outline: what the points of a part that is not quite round say of its mean radius (or of any
// of its low harmonics), including the form that they did not sample.
//
// Model (GUM sense: the posterior of the measurand), linearised at a circle of radius R0 about c. With d_i, t_i the
// distance and direction of point i from c and y_i = d_i / R0 - 1:
//
//   y_i = delta + u cos t_i + v sin t_i + sum_{k=2..K} (a_k cos k t_i + b_k sin k t_i) + e_i,   e_i ~ N(0, s^2)
//   flat prior on the columns of X (here delta, u, v);  a_k, b_k ~ N(0, tau^2 w_k),  sum of w over k <= 8 = 1,
//
// so tau^2 = E sum_{k<=8}(a_k^2 + b_k^2) in units of R0^2; K is 8, on arcs 30. tau, the spectrum w ("family") and, where it is not known, s are
// summed over a grid of nodes; every node is closed form (Gaussian regression with a conjugate prior, derived; the
// idea of integrating hyper-parameters on a grid is Box & Tiao, Bayesian Inference in Statistical Analysis, 1973,
// ch. 2, from memory). Form that the points see moves the mean; form that they cannot see adds tau^2 c_j^2: one
// formula for full circles, gaps and arcs.
//
// Node, with y~, B~ the residuals on X, W = diag(sqrt w), W B~'B~ W = U diag(l) U', g = U'W B~'y~, c = U'W q',
// q = rows of (X'X)^-1 X'B, rho = tau/s, D_j = rho^2/(1 + rho^2 l_j):
//
//   S = y~'y~ - sum D_j g_j^2
//   log weight = log prior - (n - p) ln s - 1/2 sum ln(1 + rho^2 l_j) - S/(2 s^2)
//   target | node ~ N( target_LS - sum c_j D_j g_j,  s^2 ((X'X)^-1 + sum c_j c_j' D_j) )
//
// Where it breaks down: the families are a judgement (form_prior.hpp); lobes above order K are scatter to it; on arcs the
// answer rests on the prior, since a smooth form cannot be seen there. Measured coverage: tests/data/studies.
// Directions of the form are found among the columns or among the rows, whichever are fewer.
#pragma once
#include <Eigen/Core>
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/fit/form_prior.hpp"

namespace rondure {

// The linearised equations of one part. Rows are divided by their relative standard uncertainty and, for neighbouring
// points that share errors, prewhitened. Several alternatives (correlation lengths) may be mixed.
struct FormRows {
  Eigen::MatrixXd flat;        // X, n x p, p <= 41
  Eigen::MatrixXd form;        // B, n x m; a family takes the first ones, as many as it has shares
  Eigen::VectorXd y;           // n
  double log_weight = 0;       // of this alternative: log prior mass + log of the whitening's determinant
  double variance_factor = 1;  // on the variance of its terms
};

// Standard uncertainty of one row in units of R0: known (lo == hi), or between lo and hi: log-uniform, or where `even_lo` is
// given mass of ln s as s^slope from even_lo to even_hi, and beyond by Student's law with 4 degrees of freedom of
// (ln s - ln even)/spread.
struct SigmaRange {
  double lo = 0, hi = 0;
  double even_lo = 0, even_hi = 0, spread = 1, slope = 0;
  bool known() const { return !(hi > lo); }
  SigmaRange scaled(double factor) const {
    return {lo * factor, hi * factor, even_lo * factor, even_hi * factor, spread, slope};
  }
  double log_density(double s) const;  // of ln s, up to a constant
};

inline constexpr int kMaxTargets = 3;

// One Gaussian of the mixture: the first `targets` columns asked for.
struct FormTerm {
  double weight = 0;  // normalised
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  Eigen::Matrix3d variance = Eigen::Matrix3d::Zero();
  double noise_variance = 0;  // of the first target: s^2 (X'X)^-1
  double prior_variance =
      0;  // of the first target: form in directions that the points do not show (rho^2 l < 1)
  double sigma = 0, tau = 0;
  int kind = 0;        // which family of which alternative; terms of one kind and tau stand together
  double ends_at = 1;  // of its family
};

// Terms of weight above e^-12 of the largest. `targets`: up to three column numbers of X. Rows with n <= p and an
// unknown sigma return nothing.
std::vector<FormTerm> form_posterior(std::span<const FormRows> alternatives, const FormPrior& prior,
                                     const SigmaRange& sigma, std::span<const int> targets);

// Value below which a share p of the mixture of the first target lies, every term widened by `extra_variance`.
double mixture_quantile(std::span<const FormTerm> terms, double p, double extra_variance = 0);
double mixture_mean(std::span<const FormTerm> terms, int target = 0);

// 95 % interval of the first target where kinds of part (family and tau) that the points do not tell apart give it very different
// widths. Who knew kind k would end his interval where his density has fallen to d_k, and share w_k of the mixture is his. This
// one ends where the density of the mixture has fallen to sum w_k d_k: of all with as large a share it has the least mean width,
// each kind's over the width of who knows it (Neyman and Pearson; study_readings_bound). To be on the safe side it goes on to three
// quarters of that density, where one kind alone holds in 96.4 %. It is whole from the first such end to the last, and holds at
// least the middle 80 % of the mixture.
Interval mixture_interval95(std::span<const FormTerm> terms, double extra_variance = 0);

}  // namespace rondure
