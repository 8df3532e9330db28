// The profile of the replacement and what its mass does.
#include <fmt/format.h>

#include <cmath>

#include "plan_steps.hpp"
#include "side_view_steps.hpp"

namespace rondure::plan {
namespace {

void give_bore(const ReplacementPlan& plan, ProfileStep& step) {
  const PlannedSize* bore = main_bore(plan);
  step.bore_mm = bore ? bore->target_mm : 0;
  if (bore) step.bore_size = bore->name;
}

// Which planned sizes a listed step's dimensions are: by its name, and only where the figures are those planned.
void refer_to_sizes(const ReplacementPlan& plan, ProfileStep& step) {
  const auto is = [](const PlannedSize& size, double mm) { return std::fabs(size.target_mm - mm) < 1e-9; };
  if (const PlannedSize* size = plan.find(step.name))
    if (size->kind == FeatureKind::kOutside && is(*size, step.outside_mm)) step.outside_size = size->name;
  if (const PlannedSize* width = width_of(plan, step.name))
    if (is(*width, step.length_mm)) step.width_size = width->name;
}

// Steps as the user listed them, gaps filled with the planned sizes of the same name; else the running
// surface alone.
Result<Profile> planned_profile(const PlanInputs& in, ReplacementPlan& plan, bool& per_mm) {
  if (!in.options.steps.empty()) {
    Profile profile = in.options.steps;
    for (ProfileStep& step : profile) {
      const PlannedSize* size = plan.find(step.name);
      if (step.outside_mm <= 0) {
        if (!size || size->kind != FeatureKind::kOutside)
          return Error{ErrorCode::kBadArgument, "the step '" + step.name +
                                                    "' has no diameter and the record no outside of that "
                                                    "name"};
        step.outside_mm = size->target_mm;
        const PlannedSize* running = plan.running();
        if (plan.crown && running == size && !step.end_outside_mm && !step.crown_radius_mm &&
            step.length_mm <= 2 * plan.crown->radius_mm)
          step.crown_radius_mm = plan.crown->radius_mm;
      }
      if (step.bore_mm < 0) give_bore(plan, step);
      refer_to_sizes(plan, step);
    }
    return profile;
  }
  auto seen = side_view_steps(in.record, plan);
  if (!seen) return seen.error();
  if (!seen->empty()) {
    for (ProfileStep& step : *seen) give_bore(plan, step);
    return seen;
  }
  const PlannedSize* running = plan.running();
  if (!running) return Profile{};
  ProfileStep step{running->name, 1, running->target_mm, {}, {}, 0};
  give_bore(plan, step);
  if (const PlannedSize* width = width_of(plan, running->name))
    step.length_mm = width->target_mm;
  else
    per_mm = true;
  refer_to_sizes(plan, step);
  if (plan.crown) step.crown_radius_mm = plan.crown->radius_mm;
  for (const PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kOutside && s.name != running->name)
      plan.warnings.push_back(
          {"left-out-of-mass",
           fmt::format("'{}' is left out of the drawing and the mass: where it lies along "
                       "the axis is not known; list the steps with --steps",
                       s.name)});
  return Profile{step};
}

double share(const PlannedSize& s) { return s.old_mm ? *s.old_mm / s.target_mm : 1; }

// The old part: the same steps at the sizes measured today, where they were measured.
Profile old_profile(const ReplacementPlan& plan) {
  Profile profile = plan.profile;
  const PlannedSize *running = plan.running(), *width = running ? width_of(plan, running->name) : nullptr;
  double bore_share = 1;
  for (const PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kBore && s.old_mm) {
      bore_share = *s.old_mm / s.target_mm;
      break;
    }
  for (ProfileStep& step : profile) {
    const PlannedSize* size = plan.find(step.name);
    if (size) step.outside_mm *= share(*size);
    if (size && size == running && width)
      step.length_mm += (share(*width) - 1) * (step.length_mm + step.in_edges_mm());
    step.bore_mm *= bore_share;
  }
  return profile;
}

void centrifugal(const PlanInputs& in, const ReplacementPlan& plan, RotorPlan& rotor) {
  const double nu = in.material_new.poisson_ratio.value_or(0.33);
  double hoop = 0, mean = 0;
  for (const ProfileStep& s : plan.profile) {
    const double outside = std::fmax(s.outside_mm, s.end_outside_mm.value_or(0));
    hoop = std::fmax(hoop, rotating_hoop_stress_MPa(s.bore_mm, outside, in.material_new.density_kg_m3, nu,
                                                    *rotor.speed_rpm));
    mean = std::fmax(
        mean, rotating_mean_hoop_MPa(s.bore_mm, outside, in.material_new.density_kg_m3, *rotor.speed_rpm));
  }
  rotor.hoop_MPa = hoop;
  rotor.mean_hoop_MPa = mean;
  if (in.material_new.ultimate_MPa && mean > 0)
    rotor.burst_speed_margin = std::sqrt(*in.material_new.ultimate_MPa / mean);
}

std::optional<double> turning_speed_rpm(const PlanOptions& options, const ReplacementPlan& plan) {
  if (options.turns_rpm) return options.turns_rpm;
  if (plan.speed && plan.speed->turns_hz) return *plan.speed->turns_hz * 60;
  return std::nullopt;
}

}  // namespace

Result<void> plan_profile_and_rotor(const PlanInputs& in, ReplacementPlan& plan) {
  RotorPlan rotor;
  auto profile = planned_profile(in, plan, rotor.per_mm_width);
  if (!profile) return profile.error();
  if (profile->empty()) return {};
  const auto new_part = mass_properties(*profile, in.material_new.density_kg_m3);
  if (!new_part) return new_part.error();
  plan.profile = std::move(*profile);
  rotor.new_material = in.material_new.name;
  rotor.new_part = *new_part;
  rotor.speed_rpm = turning_speed_rpm(in.options, plan);
  rotor.ripple_hz = in.options.ripple_hz;
  if (in.material_old) {
    rotor.old_material = in.material_old->name;
    if (const auto old = mass_properties(old_profile(plan), in.material_old->density_kg_m3)) {
      rotor.old_part = *old;
      const PlannedSize* running = plan.running();
      const double radius = running ? (running->target_mm + in.options.belt_thickness_mm) / 2 : 0;
      rotor.change = rotor_change(
          old->inertia_g_mm2, new_part->inertia_g_mm2,
          {in.options.rest_inertia_g_mm2, in.options.belt_stiffness_N_mm, radius, in.options.ripple_hz});
    }
  }
  if (rotor.per_mm_width)
    plan.warnings.push_back(
        {"width-unknown",
         "the width is not known: mass and inertia are for 1 mm of it (their ratio holds for "
         "any); give --width"});
  if (rotor.speed_rpm && *rotor.speed_rpm > 0) centrifugal(in, plan, rotor);
  plan.rotor = std::move(rotor);
  return {};
}

}  // namespace rondure::plan
