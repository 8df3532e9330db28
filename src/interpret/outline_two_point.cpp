// Calliper and micrometer diameters of one part, without coordinates.
#include <Eigen/LU>
#include <cmath>

#include "outline_parts.hpp"
#include "rondure/core/length.hpp"
#include "rondure/fit/form_model.hpp"

namespace rondure {
namespace {

constexpr int kRadiusTarget[] = {0}, kOvalTargets[] = {1, 2};

struct Diameters {
  std::vector<double> diameter_mm, at_rad, relative_sigma;
  double mean_mm = 0;
  double u_rounding_mm = 0;  // of the typed digits, common to all: the readings lie within one step
  bool u_known = true;       // not so for a single reading without its uncertainty
  SigmaRange sigma;          // of half a diameter, in units of the mean radius
};

Result<Diameters> diameters_of(const OutlineOptions& options) {
  Diameters out;
  std::vector<double> u;
  for (const OutlineReading& given : options.others) {
    const OutlineReading reading = with_default_uncertainty(given, options);
    if (!(reading.first.value > 0))
      return Error{ErrorCode::kBadArgument,
                   "found a diameter of " + format_mm(reading.first.value) + ", needed more than 0"};
    out.diameter_mm.push_back(reading.first.value);
    out.at_rad.push_back(reading.at_rad);
    if (reading.first.u > 0) u.push_back(reading.first.u);
    out.mean_mm += reading.first.value / static_cast<double>(options.others.size());
  }
  const auto n = static_cast<double>(out.diameter_mm.size());
  if (u.size() == out.diameter_mm.size()) {
    double sum = 0;
    for (const double one : u) sum += one * one;
    const double rms = std::sqrt(sum / n);
    for (const double one : u) out.relative_sigma.push_back(one / rms);
    out.sigma = {rms / out.mean_mm, rms / out.mean_mm};
  } else if (!u.empty()) {
    return Error{ErrorCode::kNoAnswer,
                 "found an uncertainty on some of the diameters, needed it on all (or --sigma)"};
  } else {
    double ssq = 0, step = 0;
    for (const double d : out.diameter_mm) ssq += (d - out.mean_mm) * (d - out.mean_mm);
    for (const OutlineReading& r : options.others) step = std::max(step, r.step_mm);
    const double rms = std::sqrt(ssq / std::max(1.0, n - 1)) / out.mean_mm;
    const double rounding = step / std::sqrt(12.0) / out.mean_mm;
    const double lo = std::max({rms / 30, rounding, 1e-14});
    out.sigma = {lo, 3 * std::max(rms, lo)};
    out.u_known = n > 1;
    const auto [least, most] = std::minmax_element(out.diameter_mm.begin(), out.diameter_mm.end());
    if (n > 1 && *most - *least < 1.5 * step) out.u_rounding_mm = rounding * out.mean_mm;
  }
  return out;
}

// Odd orders leave a diameter as it is; even ones pass. Flat: mean radius, and with `oval` the second order.
FormRows rows_of(const Diameters& d, bool oval) {
  const auto n = static_cast<Eigen::Index>(d.diameter_mm.size());
  const int first = oval ? 4 : kFormFirstOrder;
  FormRows rows;
  rows.flat.resize(n, oval ? 3 : 1);
  rows.form.setZero(n, 2 * (kFormLastOrder - first + 1));
  rows.y.resize(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const double scale = d.relative_sigma.empty() ? 1 : 1 / d.relative_sigma[i];
    rows.flat(i, 0) = scale;
    if (oval)
      rows.flat(i, 1) = std::cos(2 * d.at_rad[i]) * scale,
                   rows.flat(i, 2) = std::sin(2 * d.at_rad[i]) * scale;
    for (int k = first; k <= kFormLastOrder; ++k) {
      if (k % 2) continue;
      rows.form(i, 2 * (k - first)) = std::cos(k * d.at_rad[i]) * scale;
      rows.form(i, 2 * (k - first) + 1) = std::sin(k * d.at_rad[i]) * scale;
    }
    rows.y[i] = (d.diameter_mm[i] / d.mean_mm - 1) * scale;
  }
  return rows;
}

// Whether the directions tell the second order from the mean: the equations are well enough conditioned.
bool directions_carry_oval(const FormRows& rows) {
  const Eigen::Matrix3d normal = rows.flat.transpose() * rows.flat / static_cast<double>(rows.y.size());
  return normal.determinant() > 0.02;  // evenly spread: 0.25
}

void add_oval(Feature& feature, const Diameters& d, bool round_part) {
  const FormRows rows = rows_of(d, true);
  const auto n = rows.y.size();
  if (n < 3 || (n < 4 && !d.sigma.known()) || !directions_carry_oval(rows)) return;
  FormPrior prior = {
      round_family(0.5, 10),
      form_family(0.5, form_shares(4, 8, [](int k) { return 1.0 / (k * k); }), 8, 2e-4, 4e-3, 0.75)};
  if (round_part || !d.sigma.known()) prior = {round_family(1, 10)};
  const auto terms = form_posterior(std::span(&rows, 1), prior, d.sigma, kOvalTargets);
  if (terms.empty()) return;
  std::vector<PlanarTerm> planar;
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  Eigen::Matrix2d spread = Eigen::Matrix2d::Zero();
  for (const FormTerm& t : terms) {
    planar.push_back({t.weight, t.mean.head<2>(), t.variance.topLeftCorner<2, 2>()});
    mean += t.weight * t.mean.head<2>();
    spread += t.weight * t.variance.topLeftCorner<2, 2>();
  }
  const double length = mean.norm();
  const Eigen::Vector2d along = length > 0 ? Eigen::Vector2d(mean / length) : Eigen::Vector2d(1, 0);
  const Eigen::Vector2d across(-along.y(), along.x());
  EllipseResult ellipse;
  const double corrected = std::sqrt(std::max(0.0, length * length - across.dot(spread * across)));
  ellipse.major_diameter_mm = d.mean_mm * (1 + corrected);
  ellipse.minor_diameter_mm = d.mean_mm * (1 - corrected);
  ellipse.ovality_mm = 2 * d.mean_mm * corrected;
  ellipse.u_ovality_mm = 2 * d.mean_mm * std::sqrt(along.dot(spread * along));
  const Interval amplitude = amplitude_interval(planar);
  ellipse.ovality95_mm = Interval{2 * d.mean_mm * amplitude.lo, 2 * d.mean_mm * amplitude.hi};
  ellipse.p_round = amplitude_confidence(planar, 0);
  if (*ellipse.p_round < 0.05) {
    ellipse.major_angle_deg = deg(wrap_axis_rad(0.5 * std::atan2(mean.y(), mean.x())));
    feature.verdict = OutlineForm::kOval;
    feature.verdict_upr = 2;
  }
  feature.ellipse = ellipse;
}

}  // namespace

Result<Feature> measure_two_points(const OutlineOptions& options) {
  const auto diameters = diameters_of(options);
  if (!diameters) return diameters.error();
  Feature feature;
  feature.kind = FeatureKind::kOutside;
  feature.source.type = SourceType::kTwoPoint;
  feature.points.count = feature.points.used = static_cast<int>(diameters->diameter_mm.size());
  feature.verdict = OutlineForm::kUndecided;
  const bool round_part = options.form.kind == FormAssumption::Kind::kNone || options.plain;
  FormPrior prior = default_form_prior();
  if (options.form.kind == FormAssumption::Kind::kStated)
    prior = stated_form_prior(2 * options.form.out_of_round_mm / diameters->mean_mm);
  if (round_part) prior = {round_family(1, 14)};
  const FormRows rows = rows_of(*diameters, false);
  std::vector<FormTerm> terms;
  if (diameters->u_known) terms = form_posterior(std::span(&rows, 1), prior, diameters->sigma, kRadiusTarget);
  CircleResult circle;
  circle.diameter_mm = diameters->mean_mm;
  std::vector<BudgetLine> common;
  double u_more_ratio = add_common_budget(common, diameters->mean_mm, options);
  if (diameters->u_rounding_mm > 0) {
    common.push_back({UncertaintySource::kRounding, diameters->u_rounding_mm});
    u_more_ratio = std::hypot(u_more_ratio, diameters->u_rounding_mm / diameters->mean_mm);
  }
  if (!terms.empty()) {
    const double mean = mixture_mean(terms);
    double noise = 0, total = 0;
    for (const FormTerm& t : terms) {
      noise += t.weight * t.noise_variance;
      total += t.weight * (t.variance(0, 0) + (t.mean[0] - mean) * (t.mean[0] - mean));
    }
    const double d = diameters->mean_mm, more = u_more_ratio * u_more_ratio;
    circle.diameter_mm = d * (1 + mean);
    circle.u_diameter_mm = d * std::sqrt(total + more);
    circle.diameter95_mm = Interval{d * (1 + mixture_quantile(terms, 0.025, more)),
                                    d * (1 + mixture_quantile(terms, 0.975, more))};
    if (noise > 0) feature.budget.push_back({UncertaintySource::kReading, d * std::sqrt(noise)});
    if (total > noise)
      feature.budget.push_back({UncertaintySource::kFormPrior, d * std::sqrt(total - noise)});
    feature.budget.insert(feature.budget.end(), common.begin(), common.end());
  } else {
    feature.warnings.push_back(
        {"no-uncertainty", "the diameter came without an uncertainty: write +- after it, or give --sigma"});
  }
  double lo = diameters->diameter_mm[0], hi = lo;
  for (const double d : diameters->diameter_mm) lo = std::min(lo, d), hi = std::max(hi, d);
  SizesResult sizes;
  sizes.lp_max = hi, sizes.lp_min = lo, sizes.lp_range = hi - lo;
  feature.sizes = sizes;
  feature.circle = circle;
  add_oval(feature, *diameters, round_part);
  feature.warnings.push_back({"odd-lobes-unseen",
                              "two-point diameters do not see three- or five-lobed form: such a part has the "
                              "same diameter all round and still will not run true"});
  return feature;
}

}  // namespace rondure
