// Speed of belt or film on the old part, the planned one and a measured copy.
#include <cmath>

#include "plan_steps.hpp"

namespace rondure::plan {
namespace {

// Where the axis of rotation lies from the running surface's centre: known when the bore was measured in the
// same picture or the same set-up as the surface.
std::optional<PartPoint> axis_from_center(const PartRecord& record, const Feature& surface) {
  for (const Feature& f : record.features) {
    if (!f.kind.is_bore() || !f.circle || f.source.file.empty()) continue;
    if (f.source.file != surface.source.file || f.source.sha256 != surface.source.sha256) continue;
    if (f.source.type != surface.source.type) continue;
    return PartPoint{f.circle->center.x_mm - surface.circle->center.x_mm,
                     f.circle->center.y_mm - surface.circle->center.y_mm};
  }
  return std::nullopt;
}

std::optional<double> audible(const std::vector<SpeedHarmonic>& harmonics, std::optional<double> turns_hz) {
  if (!turns_hz) return std::nullopt;
  double square = 0;
  for (const SpeedHarmonic& h : harmonics)
    square += std::pow(h.amplitude_ratio * audible_weight(h.per_turn * *turns_hz).value_or(0), 2) / 2;
  return std::sqrt(square);
}

Result<SpeedRow> measured_row(const char* what, const PartRecord& record, const Feature& surface,
                              const SpeedPlan& speed, std::optional<double> run_out_mm) {
  const auto axis = axis_from_center(record, surface);
  const PartPoint offset = run_out_mm ? PartPoint{*run_out_mm / 2, 0} : axis.value_or(PartPoint{});
  const auto outline = outline_of(surface, offset);
  if (!outline) return outline.error();
  const auto effect = speed_effect(*outline, speed.belt_thickness_mm);
  if (!effect) return effect.error();
  SpeedRow row;
  row.what = what;
  row.running_diameter_mm = effect->running_diameter_mm;
  const double intended = speed.intended_mm + speed.belt_thickness_mm;
  const double error = effect->running_diameter_mm / intended - 1;
  const double expanded = 2 * surface.circle->u_diameter_mm.value_or(0) / intended;
  row.mean_error_ratio = Interval{error - expanded, error + expanded};
  row.peak_ratio = effect->peak_ratio;
  row.harmonics = effect->harmonics;
  row.audible_ratio = audible(row.harmonics, speed.turns_hz);
  row.eccentricity_known = run_out_mm.has_value() || axis.has_value();
  return row;
}

// The surface as it would be with its raised nibs dressed off; nothing when it has none.
std::optional<Feature> without_nibs(const Feature& surface) {
  Feature dressed = surface;
  const auto removed =
      std::erase_if(dressed.excluded, [](const ExcludedSector& s) { return s.height_mm > 0; });
  return removed > 0 ? std::optional(std::move(dressed)) : std::nullopt;
}

SpeedRow planned_row(const PlannedSize& size, const SpeedPlan& speed) {
  const PlannedSpeed limits =
      planned_speed(size.intended_mm, {*size.lower_mm, *size.upper_mm}, size.run_out_mm.value_or(0),
                    size.roundness_mm.value_or(0), speed.belt_thickness_mm);
  SpeedRow row;
  row.what = "planned";
  row.running_diameter_mm = size.target_mm + speed.belt_thickness_mm;
  row.mean_error_ratio = limits.mean_error_ratio;
  row.peak_ratio = limits.peak_ratio;
  row.harmonics = {{1, limits.eccentric_ratio}, {2, limits.form_ratio}};
  row.audible_ratio = audible(row.harmonics, speed.turns_hz);
  row.eccentricity_known = true;
  return row;
}

}  // namespace

Result<void> plan_speed(const PlanInputs& in, ReplacementPlan& plan) {
  const Feature* surface = running_feature(in.record, in.options);
  const PlannedSize* size = surface ? plan.find(surface->name) : nullptr;
  if (!size || size->kind != FeatureKind::kOutside || !size->lower_mm) return {};
  SpeedPlan speed;
  speed.surface = size->name;
  speed.intended_mm = size->intended_mm;
  speed.belt_thickness_mm = in.options.belt_thickness_mm;
  if (in.options.turns_rpm)
    speed.turns_hz = *in.options.turns_rpm / 60;
  else if (in.options.surface_speed_mm_s)
    speed.turns_hz = *in.options.surface_speed_mm_s / (kPi * (size->intended_mm + speed.belt_thickness_mm));
  auto old = measured_row("old", in.record, *surface, speed, in.options.run_out_old_mm);
  if (old)
    speed.rows.push_back(std::move(*old));
  else
    plan.warnings.push_back(
        {"old-speed-unknown", "speed of the old part not found: " + old.error().message()});
  if (const auto dressed = without_nibs(*surface)) {
    auto row = measured_row("old, nib off", in.record, *dressed, speed, in.options.run_out_old_mm);
    if (row) speed.rows.push_back(std::move(*row));
  }
  speed.rows.push_back(planned_row(*size, speed));
  if (in.copy) {
    const Feature* copied = find_feature(*in.copy, surface->name);
    for (const SharedSurface& s : in.shared)  // the copy may have been measured one way only
      if (!copied && s.name == surface->name) copied = find_feature(*in.copy, s.other);
    if (!copied || !copied->circle)
      return Error{ErrorCode::kNoAnswer, "found no measured '" + surface->name + "' in the copy's record"};
    auto row = measured_row("copy", *in.copy, *copied, speed, std::nullopt);
    if (!row) return row.error();
    speed.rows.push_back(std::move(*row));
  }
  plan.speed = std::move(speed);
  return {};
}

}  // namespace rondure::plan
