// The steps of make_plan, one a file; each fills its part of the plan.
#pragma once
#include "rondure/plan/replacement_plan.hpp"

namespace rondure::plan {

// What the steps know together.
struct PlanInputs {
  const PartRecord& record;
  const PlanOptions& options;
  const PartRecord* copy = nullptr;
  std::optional<Material> material_old;  // nothing when not known
  Material material_new, material_shaft;
};

// Of a class ("h9") or a plain tolerance ("+-0.01mm"). Errors: kBadArgument, kBadLength.
Result<LimitDeviations> deviations_for(const std::string& text, double nominal_mm);
const Feature* find_feature(const PartRecord& record, const std::string& name);
// The feature that is the running surface; null when nothing is outside.
const Feature* running_feature(const PartRecord& record, const PlanOptions& options);
// The width (along the axis) of the outside or step of that name: the width feature of the same name, or of that
// name with a word behind it ("hub width"; the longest such name owns it: "rim 2 width" is of "rim 2", not of
// "rim"). The running surface else takes the first width that is named after no other; null = none.
const PlannedSize* width_of(const ReplacementPlan& plan, const std::string& outside_name);

Result<void> plan_sizes(const PlanInputs& in, ReplacementPlan& plan);
Result<void> plan_fit(const PlanInputs& in, ReplacementPlan& plan);
Result<void> plan_speed(const PlanInputs& in, ReplacementPlan& plan);
Result<void> plan_tools(const PlanInputs& in, ReplacementPlan& plan);
Result<void> plan_profile_and_rotor(const PlanInputs& in, ReplacementPlan& plan);
void plan_checks(ReplacementPlan& plan);
void plan_cautions(const PlanInputs& in, ReplacementPlan& plan);

}  // namespace rondure::plan
