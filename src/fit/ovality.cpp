#include "rondure/fit/ovality.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <string>

#include "higher_orders.hpp"
#include "noise_knowledge.hpp"
#include "rondure/fit/arc_seen.hpp"
#include "rondure/fit/distributions.hpp"
#include "rondure/fit/form_rows.hpp"

namespace rondure {
namespace {

constexpr int kAxisTargets[] = {3, 4};
constexpr int kManyPoints = 24;  // from here on orders 3 to 5 are estimated freely

// Which harmonics stand free, which are random, by how much of the part is seen and how well.
struct Columns {
  int flat_last = 2;
  int form_first = 3, form_last = kFormLastOrder;
  FormPrior prior;
  bool on_arc = false;
};

Columns choose_columns(const ArcSeen& arc, int points, bool sigma_known, const FormRadiusOptions& options) {
  // tau, of the radius, as in form_prior.cpp. These and the masses below by judgement; study_readings_coverage checks the ovality
  // held and how often a round part is called oval.
  constexpr double kLo = 2e-4, kHi = 4e-3;
  Columns columns;
  const auto flat = [](int) { return 1.0; };
  const auto falling = [](int k) { return 1.0 / (k * k); };
  const auto one = [](int order, double others) { return [=](int k) { return k == order ? 1.0 : others; }; };
  const bool full = arc.full_circle() || arc.coverage_rad > rad(330);
  const bool many = full && points >= kManyPoints;
  if (many) columns.flat_last = 5, columns.form_first = 6;
  if (many && options.correlated)
    columns.flat_last = free_orders_of_dense_edge(static_cast<std::size_t>(points), arc.coverage_rad);
  if (many && options.correlated && options.form != FormKind::kNone &&
      texture_is_random(static_cast<std::size_t>(points), arc.coverage_rad)) {
    columns.form_first = kTextureFirstOrder, columns.prior = texture_beside_a_gap();
    columns.form_last = last_order(columns.prior, columns.form_first);
    return columns;
  }
  // With the noise not told, further form all round is part of the noise that the residuals show.
  if (options.form == FormKind::kNone || (full && !sigma_known) || (many && options.correlated)) {
    columns.form_last = 0, columns.prior = no_form_prior();
  } else if (many) {
    columns.prior = {round_family(0.5, 6),
                     form_family(0.2, form_shares(6, 8, flat), 10, kLo / 2, kHi, 0.5, 0.3),
                     form_family(0.3, form_shares(6, 8, flat), 10, kLo / 2, kHi, 0.5, 0.9)};
  } else if (full) {
    columns.prior = {round_family(0.25, 12),
                     form_family(0.25, form_shares(3, 8, flat), 10, kLo, kHi, 0.75, 0.2),
                     form_family(0.25, form_shares(3, 8, flat), 10, kLo, kHi, 0.75, 0.6),
                     form_family(0.25, form_shares(3, 8, falling), 8, kLo, kHi, 0.75, 0.35)};
  } else {
    columns.on_arc = true;
    // Three lobes weigh most: on half an arc they look like an oval (0.2 % peak to valley: ovality held 84 % with 0.20).
    columns.prior = {
        round_family(0.095, 12),
        form_family(0.155, with_higher_orders(form_shares(3, 8, flat), 0.3), 10, kLo, kHi, 0.75),
        form_family(0.25, with_higher_orders(form_shares(3, 8, falling), 0.35), 8, kLo, kHi, 0.75),
        form_family(0.095, form_shares(3, 8, one(3, 0.03)), 8, kLo, kHi, 0.75),
        form_family(0.50, form_shares(3, 8, one(3, 0.0003)), 8, kLo, kHi, 0.8),
        form_family(0.06, form_shares(3, 8, one(5, 0.0003)), 8, kLo, kHi, 0.4)};
  }
  if (columns.form_last > 0) columns.form_last = last_order(columns.prior, columns.form_first);
  return columns;
}

// Foot point on the ellipse c + S u(t): parameter t, unit normal, signed distance.
struct Foot {
  double t_rad;
  Eigen::Vector2d u, normal;
  double distance_mm;
};
Foot foot_on_ellipse(const Eigen::Vector2d& from_center, double m, double p, double q) {
  Eigen::Matrix2d s;
  s << m + p, q, q, m - p;
  const Eigen::Matrix2d inverse = s.inverse();
  const Eigen::Vector2d start = inverse * from_center;
  double t = std::atan2(start.y(), start.x());
  for (int step = 0; step < 30; ++step) {
    const Eigen::Vector2d u(std::cos(t), std::sin(t)), du(-u.y(), u.x());
    const Eigen::Vector2d gap = s * u - from_center, tangent = s * du;
    const double slope = gap.dot(tangent), bend = tangent.squaredNorm() - gap.dot(s * u);
    const double change = bend > 0 ? -slope / bend : -std::copysign(0.05, slope);
    t += std::clamp(change, -0.5, 0.5);
    if (std::abs(change) < 1e-14) break;
  }
  const Eigen::Vector2d u(std::cos(t), std::sin(t));
  const Eigen::Vector2d normal = (inverse * u).normalized();
  return {t, u, normal, normal.dot(from_center - s * u)};
}

// Flat: centre x, y, m, p, q, then orders 3..flat_last by the direction of the normal's foot; form: as
// circle_rows.
FormRows ellipse_rows(std::span<const PartPoint> points, std::span<const double> relative_sigma,
                      const EllipseFit& at, double radius_mm, const Columns& columns) {
  const auto n = static_cast<Eigen::Index>(points.size());
  FormRows rows;
  rows.flat.resize(n, 1 + 2 * columns.flat_last);
  rows.form.resize(
      n, columns.form_last < columns.form_first ? 0 : 2 * (columns.form_last - columns.form_first + 1));
  rows.y.resize(n);
  const auto& e = at.parameters;
  for (Eigen::Index i = 0; i < n; ++i) {
    const Foot foot = foot_on_ellipse(points[i].vec() - e.head<2>(), e[2], e[3], e[4]);
    const double scale = relative_sigma.empty() ? 1 : 1 / relative_sigma[i];
    const auto& [t, u, normal, distance] = foot;
    rows.y[i] = distance / radius_mm * scale;
    rows.flat(i, 0) = normal.x() * scale;
    rows.flat(i, 1) = normal.y() * scale;
    rows.flat(i, 2) = normal.dot(u) * scale;
    rows.flat(i, 3) = (normal.x() * u.x() - normal.y() * u.y()) * scale;
    rows.flat(i, 4) = (normal.x() * u.y() + normal.y() * u.x()) * scale;
    double c = u.x() * scale, s = u.y() * scale;  // of order k, by the last
    for (int k = 2; k <= std::max(columns.flat_last, columns.form_last); ++k) {
      const double next = c * u.x() - s * u.y();
      s = s * u.x() + c * u.y(), c = next;
      if (k >= 3 && k <= columns.flat_last) rows.flat(i, 2 * k - 1) = c, rows.flat(i, 2 * k) = s;
      if (k >= columns.form_first && k <= columns.form_last)
        rows.form(i, 2 * (k - columns.form_first)) = c, rows.form(i, 2 * (k - columns.form_first) + 1) = s;
    }
  }
  return rows;
}

// Terms that hardly differ become one of the same mean and variance; the tails move by less than 1e-3 of a
// level of 5 %.
std::vector<PlanarTerm> merged(std::vector<PlanarTerm> terms) {
  constexpr double kAlike = 0.05;  // of the variance; a mean may differ by 7 % of its standard deviation
  std::sort(terms.begin(), terms.end(),
            [](const PlanarTerm& a, const PlanarTerm& b) { return a.variance.trace() < b.variance.trace(); });
  std::vector<PlanarTerm> out, first;  // `first`: the term that opened each group
  for (const PlanarTerm& term : terms) {
    std::size_t at = 0;
    for (; at < out.size(); ++at) {
      const double limit = kAlike * first[at].variance.trace();
      if ((term.variance - first[at].variance).norm() < limit &&
          (term.mean - first[at].mean).squaredNorm() < 0.1 * limit)
        break;
    }
    if (at == out.size()) {
      out.push_back(term), first.push_back(term);
      continue;
    }
    PlanarTerm& group = out[at];
    const double weight = group.weight + term.weight, share = term.weight / weight;
    const Eigen::Vector2d shift = term.mean - group.mean;
    group.variance = (1 - share) * group.variance + share * term.variance +
                     share * (1 - share) * shift * shift.transpose();
    group.mean += share * shift;
    group.weight = weight;
  }
  return out;
}

}  // namespace

namespace {

// The interval may be skew (a plane whose tilt is not known blurs one direction alone): u is a half of it over 1.96, and the best
// value lies u inside its ends, so that the one does not deny what the other says.
void agree_with_interval(OvalityEstimate& o) {
  const Interval& range = o.ovality95_mm;
  if (range.lo > 0) {
    o.u_ovality_mm = range.width() / (2 * kNormal95);
    o.ovality_mm = std::clamp(o.ovality_mm, range.lo + o.u_ovality_mm, range.hi - o.u_ovality_mm);
  } else {
    o.ovality_mm = std::min(o.ovality_mm, range.hi);
    o.u_ovality_mm = (range.hi - o.ovality_mm) / kNormal95;
  }
}

}  // namespace

Result<OvalityEstimate> estimate_ovality(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                                         const EllipseFit& ellipse, const FormRadiusOptions& options) {
  const auto& e = ellipse.parameters;
  const double radius = e[2];
  const Circle circle{PartPoint::from(e.head<2>()), radius};
  const ArcSeen arc = arc_seen(points, circle.center);
  if (arc.coverage_rad < kLeastArcForOvality_rad)
    return Error{ErrorCode::kArcTooShort, "found " + std::to_string(static_cast<int>(deg(arc.coverage_rad))) +
                                              " deg of the outline, needed 180 for the ovality"};
  NoiseKnowledge noise = noise_knowledge(points, sigma_mm, radius, ellipse.ssq, 5, options);
  Columns columns = choose_columns(arc, static_cast<int>(points.size()), noise.range.known(), options);
  noise.range.slope = columns.on_arc ? kNoiseOverOvalBesideForm : kNoiseOverOval;
  const auto n = static_cast<int>(points.size());
  if (n < 5 || (n == 5 && !noise.range.known()))
    return Error{ErrorCode::kTooFewPoints, "found " + std::to_string(n) + ", needed 6 for the ovality"};

  std::vector<FormRows> alternatives;
  if (options.correlated) {
    const OrderedPoints ordered =
        in_order_round(points, noise.relative, {circle.center, radius, arc.middle_rad});
    alternatives = correlated_alternatives(
        ellipse_rows(ordered.points, ordered.relative_sigma, ellipse, radius, columns), ordered.gaps);
  } else {
    alternatives = {ellipse_rows(points, noise.relative, ellipse, radius, columns)};
    if (columns.on_arc) alternatives.front().variance_factor = half_seen_variance(arc.coverage_rad);
  }
  std::vector<FormTerm> terms = form_posterior(alternatives, columns.prior, noise.range, kAxisTargets);
  std::vector<PlanarTerm> planar;
  double heaviest = 0, kept = 0, sigma2 = 0;
  for (const FormTerm& term : terms) heaviest = std::max(heaviest, term.weight);
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  const Eigen::Vector2d origin(e[3] / radius, e[4] / radius);
  const Eigen::Matrix2d shared = options.second_harmonic_mm2 / (radius * radius);
  for (const FormTerm& term : terms) {
    sigma2 += term.weight * term.sigma * term.sigma;
    if (term.weight < 3e-5 * heaviest) continue;
    planar.push_back(
        {term.weight, origin + term.mean.head<2>(), term.variance.topLeftCorner<2, 2>() + shared});
    kept += term.weight;
  }
  for (PlanarTerm& term : planar) term.weight /= kept, mean += term.weight * term.mean;

  OvalityEstimate out;
  const double length = mean.norm();
  const Eigen::Vector2d along = length > 0 ? Eigen::Vector2d(mean / length) : Eigen::Vector2d(1, 0);
  const Eigen::Vector2d across(-along.y(), along.x());
  double v_along = 0, v_across = 0;
  for (const PlanarTerm& term : planar) {
    const Eigen::Vector2d shift = term.mean - mean;
    v_along += term.weight * (along.dot(term.variance * along) + std::pow(along.dot(shift), 2));
    v_across += term.weight * (across.dot(term.variance * across) + std::pow(across.dot(shift), 2));
  }
  out.ovality_mm = 2 * radius * std::sqrt(std::max(0.0, length * length - v_across));
  out.u_ovality_mm = 2 * radius * std::sqrt(v_along);
  planar = merged(std::move(planar));
  const Interval amplitude = amplitude_interval(planar);
  out.ovality95_mm = {2 * radius * amplitude.lo, 2 * radius * amplitude.hi};
  agree_with_interval(out);
  out.p_round = amplitude_confidence(planar, 0);
  out.major_axis_rad = wrap_axis_rad(0.5 * std::atan2(mean.y(), mean.x()));
  out.mean_radius_mm = radius;
  out.sigma_mm = radius * std::sqrt(sigma2);
  return out;
}

}  // namespace rondure
