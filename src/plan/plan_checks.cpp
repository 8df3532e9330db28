// The check sheet of a plan, in the order of making.
#include <cmath>

#include "plan_steps.hpp"
#include "rondure/making/cautions.hpp"
#include "rondure/making/shaft_fit.hpp"

namespace rondure::plan {
namespace {

CheckLine line(std::string name, FeatureKind kind, std::optional<double> target, std::optional<double> lower,
               std::optional<double> upper, std::string when) {
  CheckLine c{std::move(name), kind, target, lower, upper, std::move(when), {}, 0, 0};
  if (!upper) return c;
  const double zone = *upper - lower.value_or(0);
  if (const auto instrument = choose_instrument(kind, target.value_or(1), zone)) {
    c.instrument = instrument->name;
    c.u_mm = instrument->u_mm;
    c.zone_over_U = zone / (2 * instrument->u_mm);
  }
  return c;
}

std::string when_to_measure(const PlannedSize& s) {
  if (s.kind == FeatureKind::kBore) return "before parting off";
  if (s.kind == FeatureKind::kOutside) return "in the same chucking as the bore, or on a mandrel";
  if (s.kind == FeatureKind::kWidth) return "after parting off, deburred";
  return "before parting off";
}

// A radius is checked by the depth that it leaves over the width: limits from 0.02 mm of depth, where none were asked
// for. A deep arc of less width than that has none.
void give_arcs_limits(ReplacementPlan& plan) {
  if (plan.tools.empty() && !plan.crown) return;
  constexpr double kDepth_mm =
      0.02;  // what a radius gauge shows against the light (common practice, no source)
  const double width = plan.crown ? plan.crown->width_mm : plan.tools.front().wanted.width_mm;
  for (PlannedSize& s : plan.sizes) {
    if (s.kind != FeatureKind::kArc || s.upper_mm) continue;
    const double pm = std::floor(kDepth_mm * 8 * s.target_mm * s.target_mm / (width * width) * 100) / 100;
    if (!(pm > 0 && pm < s.target_mm)) continue;
    const Interval limits = rounded_inward_mm({s.target_mm - pm, s.target_mm + pm});
    s.lower_mm = limits.lo, s.upper_mm = limits.hi;
  }
}

}  // namespace

void plan_checks(ReplacementPlan& plan) {
  give_arcs_limits(plan);
  auto& sheet = plan.check_sheet;
  if (plan.fit && !plan.fit->shaft_measured) {
    CheckLine shaft{"shaft", FeatureKind::kShaft, {}, {}, {}, "first of all: the bore follows it", {}, 0, 0};
    constexpr double kShaftZone_mm = 0.016;  // what a micrometer proves four to one
    if (const auto instrument =
            choose_instrument(FeatureKind::kShaft, plan.fit->shaft_mm.value, kShaftZone_mm))
      shaft.instrument = instrument->name, shaft.u_mm = instrument->u_mm;
    sheet.push_back(shaft);
  }
  for (const PlannedSize& s : plan.sizes) {
    sheet.push_back(line(s.name, s.kind, s.target_mm, s.lower_mm, s.upper_mm, when_to_measure(s)));
    if (s.roundness_mm)
      sheet.push_back(line(s.name + " roundness", FeatureKind::kRoundness, 0.0, {}, s.roundness_mm,
                           "on the mandrel or on the shaft"));
    if (s.run_out_mm)
      sheet.push_back(line(s.name + " run-out", FeatureKind::kRunOut, 0.0, {}, s.run_out_mm,
                           "on the shaft, when pressed on"));
  }
  for (const CheckLine& c : sheet)
    if (c.upper_mm && c.zone_over_U > 0 && c.zone_over_U < 4 * (1 - 1e-9))
      plan.warnings.push_back(
          {"instrument", "no usual instrument proves the limits of '" + c.name +
                             "' four to one: work to the middle and compare with a standard of known size"});
}

void plan_cautions(const PlanInputs& in, ReplacementPlan& plan) {
  CautionFacts facts;
  facts.old_material = in.material_old;
  facts.new_material = in.material_new;
  facts.form_tool = !plan.form_tools.empty();
  facts.press_fit = plan.fit && plan.fit->kind != FitKind::kClearance;
  for (const ToolRanking& r : plan.tools)
    for (std::size_t i = 0; i < r.choices.size() && i < 3; ++i)
      facts.abrasive_arbor = facts.abrasive_arbor || r.choices[i].abrasive_sheet;
  for (const PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kBore || s.kind == FeatureKind::kOutside)
      facts.smallest_mm = std::fmin(facts.smallest_mm, s.target_mm);
  if (plan.rotor && plan.rotor->change) facts.inertia_ratio = plan.rotor->change->inertia_ratio;
  if (plan.rotor) facts.burst_speed_margin = plan.rotor->burst_speed_margin;
  plan.cautions = cautions(facts);
}

}  // namespace rondure::plan
