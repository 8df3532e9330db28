#include <algorithm>
#include <cmath>

#include "outline_parts.hpp"
#include "rondure/core/length.hpp"
#include "rondure/fit/distributions.hpp"

namespace rondure {

Result<Feature> measure_chord(Estimate chord_mm, Estimate sagitta_mm) {
  const double c = chord_mm.value, h = sagitta_mm.value;
  if (!(c > 0) || !std::isfinite(c) || chord_mm.u < 0 || sagitta_mm.u < 0)
    return Error{ErrorCode::kBadArgument, "found a chord of " + format_mm(c) + ", needed more than 0"};
  if (!(h > 0) || !std::isfinite(h))
    return Error{ErrorCode::kBadArgument, "found a sagitta of " + format_mm(h) + ", needed more than 0"};
  const double radius = c * c / (8 * h) + h / 2;
  const double by_h = 0.5 - c * c / (8 * h * h), by_c = c / (4 * h);
  const double u_h = std::abs(by_h) * sagitta_mm.u, u_c = by_c * chord_mm.u;
  const double u = std::hypot(u_h, u_c);
  const double u_curvature = u / (radius * radius), curvature = 1 / radius;
  if (u > 0 && curvature - kNormal95 * u_curvature <= 0)
    return Error{ErrorCode::kRadiusUndetermined,
                 "found a sagitta of " + format_mm(h) + " with an uncertainty of " + format_mm(sagitta_mm.u) +
                     ", which may as well be straight; needed a longer chord or a finer reading"};
  Feature feature;
  feature.kind = FeatureKind::kArc;
  feature.source.type = SourceType::kChord;
  // Arc seen: twice the half angle; beyond a half circle where the sagitta exceeds the radius.
  const double half_rad = std::asin(std::min(1.0, c / (2 * radius)));
  feature.points = {1, 1, deg(2 * (h <= radius ? half_rad : kPi - half_rad))};
  CircleResult circle;
  circle.diameter_mm = 2 * radius;
  if (u > 0) {
    circle.u_diameter_mm = 2 * u;
    circle.diameter95_mm =
        Interval{2 / (curvature + kNormal95 * u_curvature), 2 / (curvature - kNormal95 * u_curvature)};
    feature.budget = {{UncertaintySource::kSagitta, 2 * u_h}, {UncertaintySource::kChord, 2 * u_c}};
  }
  feature.circle = circle;
  return feature;
}

namespace {

using Kind = OutlineReading::Kind;

std::string source_of(const OutlineReading& reading) {
  std::string name = reading.kind == Kind::kChord     ? "chord"
                     : reading.kind == Kind::kOverlay ? "overlay"
                                                      : "two-point";
  return reading.line > 0 ? name + ", line " + std::to_string(reading.line) : name;
}

// Radius that one reading alone gives, and the uncertainty of the reading.
Result<CombinedReading> radius_of(const OutlineReading& reading) {
  CombinedReading out;
  out.source = source_of(reading);
  if (reading.kind == Kind::kChord) {
    const auto chord = measure_chord(reading.first, reading.second);
    if (!chord) return Error{chord.error().code, out.source + ": " + chord.error().detail};
    out.radius_mm = chord->circle->diameter_mm / 2;
    out.u_radius_mm = chord->circle->u_diameter_mm.value_or(0) / 2;
    return out;
  }
  const double half = reading.kind == Kind::kTwoPoint ? 0.5 : 1;
  if (!(reading.first.value > 0))
    return Error{ErrorCode::kBadArgument,
                 out.source + ": found " + format_mm(reading.first.value) + ", needed more than 0"};
  out.radius_mm = half * reading.first.value;
  out.u_radius_mm = half * reading.first.u;
  return out;
}

// What a smooth oval of 0.01 mm out-of-round does to a radius from this chord: the second-order column of the chord's
// equation over its radius column (form_radius.cpp).
double oval_shift_mm(const OutlineReading& chord, double radius_mm) {
  constexpr double kAmplitude_mm = 0.005;  // of the radius: 0.01 mm from valley to crest
  const double f = std::asin(std::min(0.999, chord.first.value / (2 * radius_mm)));
  const double cos_f = std::cos(f);
  return kAmplitude_mm * std::abs((1 - std::cos(2 * f) / cos_f) / (1 - 1 / cos_f));
}

}  // namespace

OutlineReading with_default_uncertainty(OutlineReading reading, const OutlineOptions& options) {
  if (!options.sigma_mm) return reading;
  const double s =
      *options.sigma_mm;  // of an edge: a chord has two, a sagitta its middle and the mean of two ends
  if (reading.kind == Kind::kChord && reading.first.u == 0) reading.first.u = std::sqrt(2.0) * s;
  if (reading.kind == Kind::kChord && reading.second.u == 0) reading.second.u = std::sqrt(1.5) * s;
  if (reading.kind == Kind::kTwoPoint && reading.first.u == 0) reading.first.u = std::sqrt(2.0) * s;
  return reading;
}

Result<void> combine(Feature& feature, std::vector<CombinedReading> readings) {
  double sum = 0, curvature = 0, chi2 = 0;
  int weighed = 0;
  for (const CombinedReading& r : readings) {
    if (!(r.u_radius_mm > 0)) {
      feature.warnings.push_back(
          {"reading-not-weighed", r.source + " came without an uncertainty and does not count: write +- "
                                             "after it, or give --sigma"});
      continue;
    }
    ++weighed;
    const double u_curvature = r.u_radius_mm / (r.radius_mm * r.radius_mm);
    sum += 1 / (u_curvature * u_curvature);
    curvature += 1 / (u_curvature * u_curvature) / r.radius_mm;
  }
  curvature /= sum;
  for (CombinedReading& r : readings) {
    if (!(r.u_radius_mm > 0)) continue;  // weight 0
    const double u_curvature = r.u_radius_mm / (r.radius_mm * r.radius_mm);
    r.weight = 1 / (u_curvature * u_curvature) / sum;
    chi2 += std::pow((1 / r.radius_mm - curvature) / u_curvature, 2);
  }
  feature.combination = readings;
  if (weighed < 2) return {};
  feature.p_readings_agree = chi2_upper_p(chi2, weighed - 1.0);
  if (*feature.p_readings_agree < 0.05) {
    // The one that lies furthest from what all the others give.
    const CombinedReading* odd = nullptr;
    double others_radius = 0, furthest = 0;
    for (const CombinedReading& r : readings) {
      if (!(r.u_radius_mm > 0)) continue;
      double rest = 0, rest_curvature = 0;
      for (const CombinedReading& o : readings)
        if (&o != &r) rest += o.weight, rest_curvature += o.weight / o.radius_mm;  // those not weighed: 0
      if (!(rest > 0)) continue;
      rest_curvature /= rest;
      const double u2 = std::pow(r.u_radius_mm / (r.radius_mm * r.radius_mm), 2) + 1 / (sum * rest);
      const double distance2 = std::pow(1 / r.radius_mm - rest_curvature, 2) / u2;
      if (distance2 > furthest) furthest = distance2, odd = &r, others_radius = 1 / rest_curvature;
    }
    if (odd)
      feature.warnings.push_back(
          {"readings-contradict", "the readings contradict each other: " + odd->source + " gives R " +
                                      mm_and_inch(odd->radius_mm, 3) + ", the rest R " +
                                      mm_and_inch(others_radius, 3) +
                                      "; look for a slip before using the size"});
  }
  return {};
}

Result<std::vector<CombinedReading>> combined_readings(const OutlineOptions& options, bool two_point_too) {
  std::vector<CombinedReading> out;
  for (const OutlineReading& given : options.others) {
    if (given.kind == Kind::kTwoPoint && !two_point_too) continue;
    auto one = radius_of(with_default_uncertainty(given, options));
    if (!one) return one.error();
    if (!(one->u_radius_mm > 0) && !two_point_too && options.others.size() > 1)
      return Error{ErrorCode::kNoAnswer, one->source +
                                             ": found no uncertainty, needed one such as +- 0.0005in (or "
                                             "--sigma) to weigh it against the other readings"};
    out.push_back(std::move(*one));
  }
  return out;
}

namespace {

Result<Feature> measure_chords_and_overlays(const OutlineOptions& options) {
  auto readings = combined_readings(options, false);
  if (!readings) return readings.error();
  const OutlineReading first = with_default_uncertainty(options.others.front(), options);
  Feature feature;
  feature.kind = FeatureKind::kArc;
  feature.source.type = first.kind == Kind::kChord ? SourceType::kChord : SourceType::kOverlay;
  feature.points.count = feature.points.used = static_cast<int>(readings->size());
  double sum = 0, curvature = 0;
  for (const CombinedReading& r : *readings) {
    const double u = r.u_radius_mm > 0 ? r.u_radius_mm / (r.radius_mm * r.radius_mm) : 1;
    sum += 1 / (u * u), curvature += 1 / (u * u) / r.radius_mm;
  }
  curvature /= sum;
  const double radius = 1 / curvature;
  const bool u_known = readings->front().u_radius_mm > 0;
  CircleResult circle;
  circle.diameter_mm = 2 * radius;
  std::vector<BudgetLine> common;
  const double u_more_ratio = add_common_budget(common, 2 * radius, options);
  if (u_known) {
    const double u_reading = 1 / std::sqrt(sum);
    const double u_curvature = std::hypot(u_reading, u_more_ratio * curvature);
    if (curvature - kNormal95 * u_curvature <= 0)
      return Error{ErrorCode::kRadiusUndetermined,
                   "found readings that may as well be of a straight edge, needed a longer "
                   "chord or a finer reading"};
    circle.u_diameter_mm = 2 * u_curvature * radius * radius;
    circle.diameter95_mm =
        Interval{2 / (curvature + kNormal95 * u_curvature), 2 / (curvature - kNormal95 * u_curvature)};
    if (readings->size() == 1 && first.kind == Kind::kChord) {
      feature.budget = measure_chord(first.first, first.second)->budget;
    } else {
      feature.budget.push_back({UncertaintySource::kReadings, 2 * u_reading * radius * radius});
    }
    feature.budget.insert(feature.budget.end(), common.begin(), common.end());
  }
  feature.circle = circle;
  if (first.kind == Kind::kChord) {
    feature.points.coverage_deg = measure_chord(first.first, first.second)->points.coverage_deg;
    if (options.form.kind != FormAssumption::Kind::kNone && feature.points.coverage_deg < 180)
      feature.warnings.push_back(
          {"form-not-included",
           "one chord cannot show form, and its uncertainty holds for this arc alone: on a part "
           "0.01 mm oval it may be off by " +
               mm_and_inch(oval_shift_mm(first, radius), 3)});
  }
  if (!u_known)
    feature.warnings.push_back(
        {"no-uncertainty", "the readings came without an uncertainty: write +- after them or give --sigma"});
  if (readings->size() > 1)
    if (auto ok = combine(feature, *readings); !ok) return ok.error();
  return feature;
}

}  // namespace

Result<Feature> measure_without_points(const OutlineOptions& options) {
  const auto is_two_point = [](const OutlineReading& r) { return r.kind == Kind::kTwoPoint; };
  Result<Feature> feature =
      std::all_of(options.others.begin(), options.others.end(), is_two_point) ? measure_two_points(options)
      : std::none_of(options.others.begin(), options.others.end(), is_two_point)
          ? measure_chords_and_overlays(options)
          : Result<Feature>(Error{ErrorCode::kNoAnswer,
                                  "found diameters and arc readings of different places in one "
                                  "file, needed a file for each"});
  if (feature) bring_to_20_c(*feature, options);
  return feature;
}

}  // namespace rondure
