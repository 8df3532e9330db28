// The steps of make_plan, one a file; each fills its part of the plan.
#pragma once
#include "one_surface.hpp"
#include "rondure/plan/replacement_plan.hpp"

namespace rondure::plan {

// What the steps know together.
struct PlanInputs {
  const PartRecord& record;  // every surface once
  const PlanOptions& options;
  const std::vector<SharedSurface>& shared;  // those that the record has under two names
  const PartRecord* copy = nullptr;
  std::optional<Material> material_old;  // nothing when not known
  Material material_new, material_shaft;
};

// Of a class ("h9") or a plain tolerance ("+-0.01mm"). Errors: kBadArgument, kBadLength.
Result<LimitDeviations> deviations_for(const std::string& text, double nominal_mm);
const Feature* find_feature(const PartRecord& record, const std::string& name);
// The feature that is the running surface; null when nothing is outside.
const Feature* running_feature(const PartRecord& record, const PlanOptions& options);
// Says of every width of the plan which outside it is the width of (PlannedSize::of): as the user says; as the side view
// shows; else the only width that is left is the running surface's. Two that are left are nobody's, with a warning.
Result<void> give_widths_their_outsides(const PlanInputs& in, ReplacementPlan& plan);
// The width (along the axis) of that outside; null = none.
const PlannedSize* width_of(const ReplacementPlan& plan, const std::string& outside_name);
// The first bore of the plan; null = none.
const PlannedSize* main_bore(const ReplacementPlan& plan);

Result<void> plan_sizes(const PlanInputs& in, ReplacementPlan& plan);
Result<void> plan_fit(const PlanInputs& in, ReplacementPlan& plan);
Result<void> plan_speed(const PlanInputs& in, ReplacementPlan& plan);
Result<void> plan_tools(const PlanInputs& in, ReplacementPlan& plan);
Result<void> plan_profile_and_rotor(const PlanInputs& in, ReplacementPlan& plan);
void plan_checks(ReplacementPlan& plan);
void plan_cautions(const PlanInputs& in, ReplacementPlan& plan);

}  // namespace rondure::plan
