#include "rondure/plan/replacement_plan.hpp"

#include "plan_steps.hpp"

namespace rondure::plan {
Result<ReplacementPlan> make_plan(const PartRecord& record, const PlanOptions& options,
                                  const PartRecord* copy) {
  const auto once = planned_once(record, options);
  if (!once) return once.error();
  PlanInputs in{once->record, once->options, once->shared, copy, {}, {}, {}};
  const auto material_new = find_material(options.material_new);
  if (!material_new) return material_new.error();
  in.material_new = *material_new;
  const auto material_shaft = find_material(options.shaft_material);
  if (!material_shaft) return material_shaft.error();
  in.material_shaft = *material_shaft;

  ReplacementPlan plan;
  plan.part = record.name;
  plan.warnings = once->notes;
  plan.material_new = in.material_new.name;
  if (!options.material_old.empty()) {
    const auto old = find_material(options.material_old);
    if (!old) return old.error();
    in.material_old = *old;
  } else if (!record.material.empty()) {
    if (const auto old = find_material(record.material))
      in.material_old = *old;
    else
      plan.warnings.push_back({"material-unknown", "nothing is known of the old material '" +
                                                       record.material + "': its mass is left out"});
  }
  for (const auto step : {plan_sizes, plan_fit, plan_speed, plan_tools, plan_profile_and_rotor})
    if (const auto done = step(in, plan); !done) return done.error();
  plan_checks(plan);
  plan_cautions(in, plan);
  return plan;
}

}  // namespace rondure::plan
