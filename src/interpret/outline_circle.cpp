#include <algorithm>
#include <cmath>
#include <cstdio>

#include "outline_parts.hpp"
#include "rondure/core/length.hpp"
#include "rondure/fit/distributions.hpp"

namespace rondure {
namespace {

double sagitta_mm(double radius_mm, double arc_rad) {
  return radius_mm * (1 - std::cos(std::min(arc_rad, kPi) / 2));
}

std::string short_mm(double mm) {
  char text[32];
  std::snprintf(text, sizeof text, "%.3g mm", mm);
  return text;
}

void add_line(std::vector<BudgetLine>& budget, UncertaintySource source, double u_mm) {
  if (u_mm > 0) budget.push_back({source, u_mm});
}

// The estimate for a perfectly round part with independent noise.
RadiusEstimate round_estimate(const OutlineData& data, FormRadiusOptions how) {
  how.form = FormKind::kNone;
  how.correlated = false;
  return estimate_radius(data.used, data.sigma_mm, data.circle.circle, how);
}

CircleResult plain_circle(const OutlineData& data, const RadiusEstimate& round) {
  CircleResult circle;
  circle.center = data.circle.circle.center;
  circle.diameter_mm = data.circle.circle.diameter_mm();
  circle.rms_mm = data.circle.rms_mm;
  if (round.u_noise_mm > 0) circle.u_diameter_mm = 2 * round.u_noise_mm;
  if (const auto radius = round.radius95_mm())
    circle.diameter95_mm = Interval{2 * radius->lo, 2 * radius->hi};
  return circle;
}

void note_no_uncertainty(Feature& feature) {
  feature.warnings.push_back({"no-uncertainty",
                              "three points fit a circle exactly: nothing shows how sure it is; "
                              "read more points or give --sigma"});
}

Error straight(const Feature& feature, const OutlineData& data, const RadiusEstimate& round) {
  const double h = sagitta_mm(data.circle.circle.radius_mm, rad(feature.points.coverage_deg));
  return Error{ErrorCode::kRadiusUndetermined,
               "found an arc of " + short_mm(h) + " sagitta with readings good to " +
                   short_mm(round.sigma_mm) +
                   ", which may as well be straight; needed a longer arc or more points"};
}

}  // namespace

FormRadiusOptions radius_options(const OutlineOptions& options, std::span<const double> sigma_mm) {
  FormRadiusOptions out;
  using Kind = FormAssumption::Kind;
  out.form = options.plain || options.form.kind == Kind::kNone ? FormKind::kNone
             : options.form.kind == Kind::kStated              ? FormKind::kStated
                                                               : FormKind::kEstimate;
  out.out_of_round_mm = options.form.out_of_round_mm;
  out.sigma_mm = options.sigma_mm;
  out.resolution_mm = options.resolution_mm;
  out.correlated = options.correlated && !options.plain;
  if (!options.plain) out.second_harmonic_mm2 = options.second_harmonic_mm2;
  // The sigmas of a photographed edge are an estimate; those of a readings file are what the user knows.
  if (options.correlated && !options.sigma_mm && !sigma_mm.empty()) {
    double sum = 0;
    for (const double s : sigma_mm) sum += s * s;
    out.sigma_guess_mm = std::sqrt(sum / static_cast<double>(sigma_mm.size()));
  }
  return out;
}

double add_common_budget(std::vector<BudgetLine>& budget, double diameter_mm, const OutlineOptions& options) {
  std::vector<BudgetLine> lines;
  add_line(lines, UncertaintySource::kScale, diameter_mm * options.u_scale_ratio);
  add_line(lines, UncertaintySource::kEdgeOffset, 2 * options.u_edge_offset_mm);
  if (options.temperature_c)
    add_line(lines, UncertaintySource::kTemperature,
             diameter_mm * std::hypot(options.expansion_per_k * options.u_temperature_c,
                                      options.u_expansion_per_k * (*options.temperature_c - 20)));
  for (const BudgetLine& line : options.more)
    if (line.u_mm > 0) lines.push_back(line);
  double sum = 0;
  for (const BudgetLine& line : lines) sum += line.u_mm * line.u_mm;
  budget.insert(budget.end(), lines.begin(), lines.end());
  return diameter_mm > 0 ? std::sqrt(sum) / diameter_mm : 0;
}

Result<void> add_circle(Feature& feature, const OutlineData& data, const OutlineOptions& options) {
  const FormRadiusOptions how = radius_options(options, data.sigma_mm);
  const RadiusEstimate round = round_estimate(data, how);
  if (options.plain) {
    feature.circle = plain_circle(data, round);
    add_line(feature.budget, UncertaintySource::kEdgeNoise, 2 * round.u_noise_mm);
    if (round.terms.empty()) note_no_uncertainty(feature);
    return {};
  }
  if (feature.kind == FeatureKind::kArc && options.others.empty() && round.curvature_reaches_zero())
    return straight(feature, data, round);

  std::vector<OutlineReading> others;
  for (const OutlineReading& reading : options.others)
    others.push_back(with_default_uncertainty(reading, options));
  const RadiusEstimate estimate = estimate_radius(data.used, data.sigma_mm, data.circle.circle, how, others);
  if (!others.empty() && round.u_noise_mm > 0) {
    auto readings = combined_readings(options, true);
    if (!readings) return readings.error();
    // by the same model as the combined value, which else could lie outside of what it is made of
    const RadiusEstimate alone = estimate_radius(data.used, data.sigma_mm, data.circle.circle, how);
    readings->insert(readings->begin(), {"coordinates", alone.radius_mm, round.u_noise_mm, 0});
    if (auto ok = combine(feature, std::move(*readings)); !ok) return ok;
  }
  std::vector<BudgetLine> common;
  const double u_more_ratio = add_common_budget(common, 2 * estimate.radius_mm, options);
  CircleResult circle;
  circle.diameter_mm = 2 * estimate.radius_mm;
  circle.center = estimate.center;
  circle.rms_mm = data.circle.rms_mm;
  if (estimate.terms.empty()) {
    note_no_uncertainty(feature);
  } else {
    circle.u_diameter_mm = 2 * estimate.u_mm(u_more_ratio);
    if (const auto radius = estimate.radius95_mm(u_more_ratio)) {
      circle.diameter95_mm = Interval{2 * radius->lo, 2 * radius->hi};
    } else {
      circle.u_diameter_mm.reset();
      const double lo = estimate.reference_radius_mm / (1 - mixture_quantile(estimate.terms, 0.025));
      feature.warnings.push_back(
          {"no-upper-limit", "the radius is at least " + mm_and_inch(lo, 3) +
                                 ", but form that so short an arc cannot show leaves no upper "
                                 "limit: read a longer arc, or state the form (--form)"});
    }
    // Student's factor for few readings belongs to the noise.
    const double student = estimate.dof > 0 ? student_quantile_two_sided(0.05, estimate.dof) / kNormal95 : 1;
    add_line(feature.budget, UncertaintySource::kEdgeNoise, 2 * student * estimate.u_noise_mm);
    add_line(feature.budget, UncertaintySource::kForm, 2 * estimate.u_form_mm);
    add_line(feature.budget, UncertaintySource::kFormPrior, 2 * estimate.u_form_prior_mm);
  }
  feature.budget.insert(feature.budget.end(), common.begin(), common.end());
  feature.circle = circle;
  return {};
}

}  // namespace rondure
