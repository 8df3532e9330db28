#include "rondure/plan/planned_profile.hpp"

#include "rondure/plan/section_drawing.hpp"

namespace rondure::plan {
namespace {

double end_of(const ProfileStep& s) { return s.end_outside_mm.value_or(s.outside_mm); }

SegmentKind kind_of(const ProfileStep& s) {
  for (const SegmentKind edge : {SegmentKind::kChamfer, SegmentKind::kFillet})
    if (s.name == segment_word(edge)) return edge;
  if (s.crown_radius_mm) return SegmentKind::kArc;
  return end_of(s) != s.outside_mm ? SegmentKind::kTaper : SegmentKind::kCylinder;
}

ProfileSegment surface_of(const ProfileStep& s, double from_mm) {
  ProfileSegment out;
  out.name = s.name, out.kind = kind_of(s);
  out.from_mm = from_mm, out.to_mm = from_mm + s.length_mm;
  out.from_radius_mm = 0.5 * s.outside_mm, out.to_radius_mm = 0.5 * end_of(s);
  out.diameter_mm = Estimate{s.outside_mm, 0};
  if (s.crown_radius_mm) out.radius_mm = Estimate{*s.crown_radius_mm, 0};
  return out;
}

}  // namespace

std::optional<PlannedProfile> planned_profile(const ReplacementPlan& plan) {
  if (plan.profile.empty() || (plan.rotor && plan.rotor->per_mm_width)) return std::nullopt;
  PlannedProfile out;
  out.profile.points = outside_line(plan.profile);
  double z = 0;
  for (const ProfileStep& s : plan.profile) {
    auto& all = out.profile.segments;
    if (!all.empty() && !s.name.empty() && all.back().name == s.name)
      all.back().to_mm = z + s.length_mm, all.back().to_radius_mm = 0.5 * end_of(s);
    else
      all.push_back(surface_of(s, z));
    z += s.length_mm;
    const PlannedSize* size = plan.find(s.outside_size);
    if (size && size->lower_mm && size->upper_mm)
      out.allowed_mm[s.name] = {0.5 * (*size->lower_mm - size->target_mm),
                                0.5 * (*size->upper_mm - size->target_mm)};
  }
  out.profile.length_mm =
      Estimate{z, 0};  // a part of another length is held against it place by place, not from one end
  return out;
}

}  // namespace rondure::plan
