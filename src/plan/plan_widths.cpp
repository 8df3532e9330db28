// Whose width is which. Names are labels: they decide nothing here.
#include <fmt/format.h>

#include <algorithm>

#include "plan_steps.hpp"
#include "rondure/record/profile_section.hpp"

namespace rondure::plan {
namespace {

void as_the_user_says(const PlanOptions& options, ReplacementPlan& plan) {
  for (PlannedSize& s : plan.sizes)
    for (const auto& [width, outside] : options.width_of)
      if (s.kind == FeatureKind::kWidth && s.name == width) s.of = outside;
}

void as_the_side_view_shows(const SideProfile& profile, ReplacementPlan& plan) {
  for (PlannedSize& s : plan.sizes)
    for (const ProfileSegment& surface : profile.segments)
      if (s.of.empty() && s.kind == FeatureKind::kWidth && s.name == width_name(surface)) s.of = surface.name;
}

}  // namespace

const PlannedSize* main_bore(const ReplacementPlan& plan) {
  for (const PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kBore) return &s;
  return nullptr;
}

const PlannedSize* width_of(const ReplacementPlan& plan, const std::string& outside_name) {
  for (const PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kWidth && !s.of.empty() && s.of == outside_name) return &s;
  return nullptr;
}

Result<void> give_widths_their_outsides(const PlanInputs& in, ReplacementPlan& plan) {
  as_the_user_says(in.options, plan);
  if (in.record.profile) {
    as_the_side_view_shows(*in.record.profile, plan);
    return {};
  }
  const Feature* running = running_feature(in.record, in.options);
  if (!running || width_of(plan, running->name)) return {};
  std::vector<PlannedSize*> left;
  for (PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kWidth && s.of.empty()) left.push_back(&s);
  if (left.size() == 1) left.front()->of = running->name;
  if (left.size() > 1)
    plan.warnings.push_back(
        {"width-unknown",
         fmt::format("'{}' and '{}' could each be the width of '{}', so neither is taken: say which with "
                     "--width-of '{}={}'",
                     left[0]->name, left[1]->name, running->name, left[0]->name, running->name)});
  return {};
}

}  // namespace rondure::plan
