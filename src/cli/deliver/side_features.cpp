#include "cli/deliver/side_features.hpp"

#include <cmath>

#include "rondure/core/normal_law.hpp"
#include "rondure/record/profile_section.hpp"

namespace rondure::cli {
namespace {

// A size known from many points: the interval is the normal law's.
Feature feature(const std::string& name, FeatureKind kind, const Estimate& size, double rms_mm,
                const std::vector<BudgetLine>& budget, double times) {
  Feature f;
  f.name = name, f.kind = kind;
  f.circle = CircleResult{size.value,
                          size.u,
                          {},
                          rms_mm,
                          Interval{size.value - kNormal95 * size.u, size.value + kNormal95 * size.u}};
  double sum = 0;
  for (const BudgetLine& line : budget) sum += times * times * line.u_mm * line.u_mm;
  if (std::abs(std::sqrt(sum) - size.u) < 1e-9)  // the budget is this size's own
    for (const BudgetLine& line : budget) f.budget.push_back({line.source, times * line.u_mm});
  return f;
}

bool is_surface(const ProfileSegment& s) {
  return s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper || s.kind == SegmentKind::kArc;
}

}  // namespace

std::vector<Feature> features_of(const SideProfile& profile) {
  std::vector<Feature> out;
  for (const ProfileSegment& s : profile.segments)
    if (is_surface(s) && s.diameter_mm)
      out.push_back(feature(s.name, FeatureKind::kOutside, *s.diameter_mm, s.rms_mm, s.budget, 1));
  for (const ProfileSegment& s : profile.segments)
    if (s.kind == SegmentKind::kArc && s.radius_mm) {
      Feature f = feature(radius_name(s), FeatureKind::kArc, {2 * s.radius_mm->value, 2 * s.radius_mm->u},
                          s.rms_mm, s.budget, 2);
      if (s.radius95_mm)
        f.circle->diameter95_mm = Interval{2 * s.radius95_mm->lo, 2 * s.radius95_mm->hi};
      else
        f.circle->diameter95_mm.reset();
      out.push_back(std::move(f));
    }
  for (const ProfileSegment& s : profile.segments)
    if (is_surface(s) && drawn_width_mm(s))
      out.push_back(feature(width_name(s), FeatureKind::kWidth, *drawn_width_mm(s), s.rms_mm, s.budget, 1));
  if (profile.length_mm)
    out.push_back(
        feature("whole width", FeatureKind::kWidth, *profile.length_mm, 0, profile.length_budget, 1));
  return out;
}

}  // namespace rondure::cli
