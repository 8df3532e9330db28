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
  feature.kind = "arc";
  feature.source.type = "chord";
  // Arc seen: twice the half angle; beyond a half circle where the sagitta exceeds the radius.
  const double half_rad = std::asin(std::min(1.0, c / (2 * radius)));
  feature.points = {1, 1, deg(2 * (h <= radius ? half_rad : kPi - half_rad))};
  CircleResult circle;
  circle.diameter_mm = 2 * radius;
  if (u > 0) {
    circle.u_diameter_mm = 2 * u;
    circle.diameter95_mm =
        Interval{2 / (curvature + kNormal95 * u_curvature), 2 / (curvature - kNormal95 * u_curvature)};
    feature.budget = {{"sagitta", 2 * u_h}, {"chord", 2 * u_c}};
  }
  feature.circle = circle;
  return feature;
}

Result<Feature> measure_without_points(const OutlineOptions& options) {
  const OutlineReading& first = options.others.front();
  if (first.kind == OutlineReading::Kind::kChord) return measure_chord(first.first, first.second);
  return Error{ErrorCode::kTooFewPoints, "found no points"};
}

}  // namespace rondure
