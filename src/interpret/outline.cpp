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
  for (const auto* sectors : {&options.left_out, &options.taken_in})
    for (const OutlineSector& s : *sectors)
      if (!std::isfinite(s.from_deg) || !std::isfinite(s.to_deg))
        return Error{ErrorCode::kNotFinite, "a sector"};
  return {};
}

Warning hand_note(const OutlineOptions& options) {
  std::string text;
  const auto add = [&](const std::vector<OutlineSector>& sectors, const char* what) {
    for (const OutlineSector& s : sectors)
      text += (text.empty() ? "" : ", ") + std::to_string(std::lround(s.from_deg)) + " to " +
              std::to_string(std::lround(s.to_deg)) + " deg " + what;
  };
  add(options.left_out, "left out");
  add(options.taken_in, "taken in");
  return {"chosen-by-hand", text + " by hand"};
}

}  // namespace

Result<Feature> measure_outline(std::span<const MeasuredPoint> points, const OutlineOptions& options) {
  if (auto ok = check(points, options); !ok) return ok.error();
  if (points.empty() && !options.others.empty()) return measure_without_points(options);

  OutlineData data;
  const bool by_hand = !options.left_out.empty() || !options.taken_in.empty();
  if (auto ok = (by_hand ? fit_by_hand : fit_and_exclude)(data, points, options); !ok) return ok.error();
  Feature feature;
  feature.source.type = SourceType::kReadings;
  const ArcSeen arc = arc_seen(data.used, data.circle.circle.center);
  feature.points = {static_cast<int>(points.size()), static_cast<int>(data.used.size()),
                    deg(arc.coverage_rad)};
  feature.kind = arc.full_circle() || arc.coverage_rad >= kPi ? FeatureKind::kOutside : FeatureKind::kArc;
  feature.excluded = data.excluded;
  if (by_hand) feature.warnings.push_back(hand_note(options));

  if (auto ok = add_circle(feature, data, options); !ok) return ok.error();
  const auto ovality = add_ellipse(feature, data, options);
  add_shape(feature, data, ovality, options);
  feature.profile = profile_of(points, data);
  bring_to_20_c(feature, options);
  return feature;
}

}  // namespace rondure
