#include "rondure/interpret/outline.hpp"

#include <cmath>

#include "outline_parts.hpp"
#include "rondure/fit/arc_seen.hpp"

namespace rondure {
namespace {

Result<void> check(std::span<const MeasuredPoint> points, const OutlineOptions& options) {
  for (const MeasuredPoint& p : points) {
    if (!std::isfinite(p.at.x_mm) || !std::isfinite(p.at.y_mm) || !std::isfinite(p.sigma_mm))
      return Error{ErrorCode::kNotFinite, p.line > 0 ? "line " + std::to_string(p.line) : "a point"};
    if (p.sigma_mm < 0)
      return Error{ErrorCode::kBadArgument, "found a reading uncertainty below 0, needed 0 or more"};
  }
  if (options.sigma_mm && !(*options.sigma_mm > 0))
    return Error{ErrorCode::kBadArgument, "found the reading uncertainty 0, needed more than 0"};
  if (options.form.kind == FormAssumption::Kind::kStated && !(options.form.out_of_round_mm > 0))
    return Error{ErrorCode::kBadArgument, "found the out-of-round 0, needed more than 0, or none"};
  return {};
}

}  // namespace

Result<Feature> measure_outline(std::span<const MeasuredPoint> points, const OutlineOptions& options) {
  if (auto ok = check(points, options); !ok) return ok.error();
  if (points.empty() && !options.others.empty()) return measure_without_points(options);

  OutlineData data;
  if (auto ok = fit_and_exclude(data, points, options); !ok) return ok.error();
  Feature feature;
  feature.source.type = "readings";
  const ArcSeen arc = arc_seen(data.used, data.circle.circle.center);
  feature.points = {static_cast<int>(points.size()), static_cast<int>(data.used.size()),
                    deg(arc.coverage_rad)};
  feature.kind = arc.full_circle() || arc.coverage_rad >= kPi ? "outside" : "arc";
  feature.excluded = data.excluded;

  if (auto ok = add_circle(feature, data, options); !ok) return ok.error();
  const auto ovality = add_ellipse(feature, data, options);
  add_shape(feature, data, ovality, options);
  feature.profile = profile_of(points, data);
  bring_to_20_c(feature, options);
  return feature;
}

}  // namespace rondure
