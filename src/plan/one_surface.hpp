// The record of which a plan is made has every surface once (record/one_surface.hpp); what was said of a surface under its
// other name holds.
#pragma once
#include "rondure/plan/replacement_plan.hpp"
#include "rondure/record/one_surface.hpp"

namespace rondure::plan {

struct PlannedOnce : SurfacesOnce {
  PlanOptions options;  // what was said of a surface's other name, said of its name
};
// Errors: kBadArgument (a size or tolerance said twice of one surface).
Result<PlannedOnce> planned_once(const PartRecord& record, const PlanOptions& options);

}  // namespace rondure::plan
