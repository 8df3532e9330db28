#include "rondure/fit/form_radius.hpp"

#include <algorithm>
#include <cmath>

#include "higher_orders.hpp"
#include "noise_knowledge.hpp"
#include "rondure/core/dense_solve.hpp"
#include "rondure/fit/arc_seen.hpp"
#include "rondure/fit/distributions.hpp"
#include "rondure/fit/form_rows.hpp"

namespace rondure {
namespace {

constexpr int kRadiusTargets[] = {0, 1, 2};
constexpr double kLongestArc_rad = 4.7;  // of readings; more is a part seen all round but for a gap

// Equations of the readings of other kinds (derived, plane geometry, first order in the form):
//   two-point D at angle f: even orders, delta + sum_{k even} (a_k cos k f + b_k sin k f) = D/(2 R0) - 1
//   chord c, sagitta h about the middle of the arc, sin f = c/(2 R0): a point at +-f moves the chord's ends by
//     y/cos f along the sagitta, so (h - h0)/R0 = delta (1 - 1/cos f) + sum a_k (1 - cos k f / cos f)
//   overlay: the whole arc, as the least-squares circle of the points sees it (`overlay_form`).
void append_reading(FormRows& rows, const OutlineReading& reading, const Linearisation& at,
                    double sigma_ratio, const Eigen::RowVectorXd& overlay_form) {
  const double radius = at.radius_mm;
  Eigen::RowVectorXd flat = Eigen::RowVectorXd::Zero(rows.flat.cols());
  Eigen::RowVectorXd form = Eigen::RowVectorXd::Zero(rows.form.cols());
  double y = 0, u = 0;
  const auto orders = rows.form.cols() / 2;
  switch (reading.kind) {
    case OutlineReading::Kind::kTwoPoint:
      flat[0] = 1;
      for (Eigen::Index j = 0; j < orders; ++j) {
        const int k = kFormFirstOrder + static_cast<int>(j);
        if (k % 2) continue;
        form[2 * j] = std::cos(k * (reading.at_rad - at.zero_rad));
        form[2 * j + 1] = std::sin(k * (reading.at_rad - at.zero_rad));
      }
      y = reading.first.value / (2 * radius) - 1;
      u = reading.first.u / (2 * radius);
      break;
    case OutlineReading::Kind::kOverlay:
      flat[0] = 1;
      form = overlay_form;
      y = reading.first.value / radius - 1;
      u = reading.first.u / radius;
      break;
    case OutlineReading::Kind::kChord: {
      const double half = reading.first.value / 2;
      if (!(half < 0.999 * radius)) return;
      const double rise = std::sqrt(radius * radius - half * half), cos_f = rise / radius;
      const double f = std::asin(half / radius);
      flat[0] = 1 - 1 / cos_f;
      for (Eigen::Index j = 0; j < orders; ++j)
        form[2 * j] = 1 - std::cos((kFormFirstOrder + static_cast<double>(j)) * f) / cos_f;
      y = (reading.second.value - (radius - rise)) / radius;
      u = std::hypot(reading.second.u, half / (2 * rise) * reading.first.u) / radius;
      break;
    }
  }
  if (!(u > 0)) return;
  const double scale = sigma_ratio / u;
  const auto n = rows.y.size();
  rows.flat.conservativeResize(n + 1, Eigen::NoChange);
  rows.form.conservativeResize(n + 1, Eigen::NoChange);
  rows.y.conservativeResize(n + 1);
  rows.flat.row(n) = flat * scale;
  rows.form.row(n) = form * scale;
  rows.y[n] = y * scale;
}

Eigen::RowVectorXd least_squares_form(const FormRows& rows) {
  return SymmetricSolver(gram(rows.flat)).solve(cross(rows.flat, rows.form)).row(0);
}

void summarise(RadiusEstimate& estimate, const Linearisation& at) {
  const double radius = at.radius_mm;
  const Eigen::Vector3d mean(mixture_mean(estimate.terms, 0), mixture_mean(estimate.terms, 1),
                             mixture_mean(estimate.terms, 2));
  double noise = 0, prior = 0, total = 0, sigma2 = 0;
  for (const FormTerm& term : estimate.terms) {
    const double shift = term.mean[0] - mean[0];
    noise += term.weight * term.noise_variance;
    prior += term.weight * term.prior_variance;
    total += term.weight * (term.variance(0, 0) + shift * shift);
    sigma2 += term.weight * term.sigma * term.sigma;
  }
  estimate.reference_radius_mm = radius;
  estimate.radius_mm = radius / (1 - std::min(mean[0], 0.9));
  const double c = std::cos(at.zero_rad), s = std::sin(at.zero_rad);
  estimate.center = {at.center.x_mm + radius * (c * mean[1] - s * mean[2]),
                     at.center.y_mm + radius * (s * mean[1] + c * mean[2])};
  estimate.u_noise_mm = radius * std::sqrt(noise);
  estimate.u_form_prior_mm = radius * std::sqrt(prior);
  estimate.u_form_mm = radius * std::sqrt(std::max(0.0, total - noise - prior));
  estimate.sigma_mm = radius * std::sqrt(sigma2);
}

// Perfectly round part: one term from least squares.
RadiusEstimate round_part(const FormRows& rows, const Linearisation& at, const SigmaRange& sigma) {
  RadiusEstimate estimate;
  const Eigen::MatrixXd cofactor = inverse_symmetric(gram(rows.flat));
  const Eigen::VectorXd solution = cofactor * cross(rows.flat, rows.y);
  const double dof = static_cast<double>(rows.y.size() - rows.flat.cols());
  double s = sigma.lo;
  if (!sigma.known())  // not less than the rounding of the digits
    s = dof > 0 ? std::max(sigma.lo, std::sqrt((rows.y - rows.flat * solution).squaredNorm() / dof)) : 0;
  FormTerm term;
  term.weight = 1;
  term.mean = solution.head(3);
  term.sigma = s;
  term.variance(0, 0) = term.noise_variance = s * s * cofactor(0, 0);
  estimate.terms = {term};
  if (!sigma.known()) estimate.dof = dof;
  summarise(estimate, at);
  if (!sigma.known() && dof <= 0) estimate.terms.clear(), estimate.sigma_mm = 0;
  return estimate;
}

}  // namespace

RadiusEstimate estimate_radius(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                               const Circle& least_squares, const FormRadiusOptions& options,
                               std::span<const OutlineReading> others) {
  double ssq = 0;
  for (const PartPoint& p : points)
    ssq += std::pow((p.vec() - least_squares.center.vec()).norm() - least_squares.radius_mm, 2);
  const NoiseKnowledge noise = noise_knowledge(points, sigma_mm, least_squares.radius_mm, ssq, 3, options);
  const ArcSeen arc = arc_seen(points, least_squares.center);
  Linearisation at{least_squares.center, least_squares.radius_mm, arc.middle_rad};
  const bool free_of_form = options.form == FormKind::kNone;
  const bool harmonics_flat = options.correlated && !free_of_form && arc.full_circle() && points.size() >= 24;
  const bool all_round = arc.full_circle() || arc.coverage_rad > rad(330);
  const bool six_told = points.size() == 6 && noise.range.known();
  const bool arc_by_hand = !all_round && !options.correlated && arc.coverage_rad < kLongestArc_rad;
  FormPrior prior = arc_by_hand  ? arc_form_prior(arc.coverage_rad)
                    : !all_round ? dense_arc_form_prior()
                    : six_told   ? six_readings_form_prior()
                                 : default_form_prior();
  if (options.form == FormKind::kStated) prior = stated_form_prior(options.out_of_round_mm / at.radius_mm);
  if (free_of_form || harmonics_flat) prior = no_form_prior();
  const bool texture = harmonics_flat && others.empty() && texture_is_random(points.size(), arc.coverage_rad);
  if (texture) prior = texture_beside_a_gap();
  const bool form_columns = !free_of_form && (!harmonics_flat || texture);
  const int form_first = texture ? kTextureFirstOrder : kFormFirstOrder;
  const int flat_last = harmonics_flat ? free_orders_of_dense_edge(points.size(), arc.coverage_rad) : 1;

  SigmaRange range = noise.range;
  range.slope = kNoiseOverForm;
  bool others_in = false;
  RadiusEstimate estimate;
  // Once, again where the centre moved so far that second-order terms show, and once more with other readings.
  for (int pass = 0; pass < 5; ++pass) {
    std::vector<FormRows> alternatives;
    const int form_last = form_columns ? last_order(prior, form_first) : 0;
    if (options.correlated) {
      const OrderedPoints ordered = in_order_round(points, noise.relative, at);
      alternatives = correlated_alternatives(
          circle_rows(ordered.points, ordered.relative_sigma, at, flat_last, form_first, form_last),
          ordered.gaps);
    } else {
      alternatives = {circle_rows(points, noise.relative, at, flat_last, form_first, form_last)};
      if (!all_round && !arc_by_hand && options.form == FormKind::kEstimate)
        alternatives.front().variance_factor = half_seen_variance(arc.coverage_rad);
    }
    if (others_in) {
      const Eigen::RowVectorXd overlay_form = least_squares_form(alternatives.front());
      for (FormRows& rows : alternatives)
        for (const OutlineReading& reading : others)
          append_reading(rows, reading, at, range.lo, overlay_form);
    }
    if (free_of_form && !options.correlated) {
      estimate = round_part(alternatives.front(), at, range);
    } else {
      estimate = {};
      estimate.terms = form_posterior(alternatives, prior, range, kRadiusTargets);
      estimate.kinds_not_told = arc_by_hand && options.form == FormKind::kEstimate;
      if (!estimate.terms.empty()) summarise(estimate, at);
    }
    if (estimate.terms.empty()) {  // nothing to tell the noise by
      estimate.radius_mm = estimate.reference_radius_mm = least_squares.radius_mm;
      estimate.center = least_squares.center;
      return estimate;
    }
    const Eigen::Vector3d mean(mixture_mean(estimate.terms, 0), mixture_mean(estimate.terms, 1),
                               mixture_mean(estimate.terms, 2));
    if (form_columns && !texture && pass < 3 && mean.norm() > 2e-3 && mean.norm() < 0.3) {
      at.center = estimate.center;
      at.radius_mm *= 1 + mean[0];
      range = range.scaled(1 / (1 + mean[0]));
    } else if (!others.empty() && !others_in) {
      others_in = true;
      const double s = estimate.sigma_mm / at.radius_mm;
      range = {s, s};
    } else {
      break;
    }
  }
  return estimate;
}

double RadiusEstimate::u_mm(double u_more_ratio) const {
  if (terms.empty()) return 0;
  double factor = 1;
  if (dof > 0) factor = student_quantile_two_sided(0.05, dof) / kNormal95;
  const double more = u_more_ratio * radius_mm;
  const double ratio = radius_mm / reference_radius_mm;  // d(1/(1 - delta)) = ratio^2 d(delta)
  const double own =
      factor * ratio * ratio *
      std::sqrt(u_noise_mm * u_noise_mm + u_form_mm * u_form_mm + u_form_prior_mm * u_form_prior_mm);
  return std::hypot(own, more);
}

namespace {
// 95 % limits of delta.
Interval delta95(const RadiusEstimate& e, double u_more_ratio) {
  const double more = u_more_ratio * u_more_ratio;
  if (e.dof > 0) {
    const double own = e.terms[0].variance(0, 0), sum = own + more;
    const double dof = own > 0 ? e.dof * (sum / own) * (sum / own) : 1e9;
    const double half = student_quantile_two_sided(0.05, dof) * std::sqrt(sum);
    return {e.terms[0].mean[0] - half, e.terms[0].mean[0] + half};
  }
  if (e.kinds_not_told) return mixture_interval95(e.terms, more);
  return {mixture_quantile(e.terms, 0.025, more), mixture_quantile(e.terms, 0.975, more)};
}
}  // namespace

bool RadiusEstimate::curvature_reaches_zero(double u_more_ratio) const {
  return !terms.empty() && delta95(*this, u_more_ratio).hi >= 1;
}

std::optional<Interval> RadiusEstimate::radius95_mm(double u_more_ratio) const {
  if (terms.empty()) return std::nullopt;
  const Interval delta = delta95(*this, u_more_ratio);
  if (delta.hi >= 1) return std::nullopt;
  return Interval{reference_radius_mm / (1 - delta.lo), reference_radius_mm / (1 - delta.hi)};
}

}  // namespace rondure
