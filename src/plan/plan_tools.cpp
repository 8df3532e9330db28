// Arcs: crown, tools on the shelf, form tool.
#include <fmt/format.h>

#include <cmath>

#include "plan_steps.hpp"

namespace rondure::plan {
namespace {

struct Arc {
  std::string name;
  Estimate radius_mm;
};

// Width over which an arc is cut: stated, else the running surface's, planned or listed with the steps, else
// the chord that was measured, to a micrometre.
double arc_width_mm(const PlanInputs& in, const ReplacementPlan& plan) {
  if (in.options.arc_width_mm) return *in.options.arc_width_mm;
  const PlannedSize* running = plan.running();
  if (const PlannedSize* width = running ? width_of(plan, running->name) : nullptr) return width->target_mm;
  for (const ProfileStep& step : in.options.steps)
    if (running && step.name == running->name && step.length_mm > 0) return step.length_mm;
  for (const Feature& f : in.record.features)
    if (f.kind == FeatureKind::kArc && f.circle && f.points.coverage_deg > 0 && f.points.coverage_deg < 180)
      return std::round(f.circle->diameter_mm * std::sin(rad(f.points.coverage_deg) / 2) * 1000) / 1000;
  return 0;
}

std::vector<Arc> wanted_arcs(const PlanInputs& in, const ReplacementPlan& plan) {
  std::vector<Arc> arcs;
  if (in.options.wanted_radius_mm) arcs.push_back({"wanted radius", *in.options.wanted_radius_mm});
  for (const PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kArc) arcs.push_back({s.name, {s.target_mm, s.u_old_mm.value_or(0)}});
  return arcs;
}

bool is_crown(const std::string& name) { return name.find("crown") != std::string::npos; }

}  // namespace

Result<void> plan_tools(const PlanInputs& in, ReplacementPlan& plan) {
  const double width = arc_width_mm(in, plan);
  const auto arcs = wanted_arcs(in, plan);
  if (arcs.empty()) {
    if (!in.options.shelf.empty())
      plan.warnings.push_back(
          {"no-arc", "tools were given, but the record has no arc to choose one for: give --radius"});
    return {};
  }
  if (!(width > 0)) {
    plan.warnings.push_back({"arc-width-unknown",
                             "the width of the arc is not known, so no tool is chosen: give --arc-width or "
                             "--width"});
    return {};
  }
  for (const Arc& arc : arcs) {
    if (width > 2 * arc.radius_mm.value) {
      plan.warnings.push_back({"arc-too-wide", fmt::format("{}: a radius of {:.3f} mm cannot span {:.3f} mm",
                                                           arc.name, arc.radius_mm.value, width)});
      continue;
    }
    if (!in.options.shelf.empty()) {
      WantedRadius wanted{arc.name, arc.radius_mm, width};
      if (in.options.ground_as) {
        const auto tool = correct_form_tool(*in.options.ground_as, arc.radius_mm.value, width,
                                            in.options.clearance_deg, in.options.rake_deg);
        if (!tool) return tool.error();
        wanted.name += ", as ground on the form tool";
        wanted.radius_mm = {tool->ground_radius_mm, arc.radius_mm.u / tool->depth_factor};
      }
      auto ranking = rank_tools(wanted, in.options.shelf);
      if (!ranking) return ranking.error();
      plan.tools.push_back(std::move(*ranking));
    }
    if (plan.form_tools.empty())
      for (const FormToolCase which : {FormToolCase::kSection, FormToolCase::kProjection}) {
        auto tool = correct_form_tool(which, arc.radius_mm.value, width, in.options.clearance_deg,
                                      in.options.rake_deg);
        if (!tool) return tool.error();
        plan.form_tools.push_back(std::move(*tool));
      }
    const PlannedSize* running = plan.running();
    if (is_crown(arc.name) && running && !plan.crown) {
      const auto crown = crown_from_radius(running->target_mm, arc.radius_mm.value, width);
      if (crown)
        plan.crown = *crown;
      else
        plan.warnings.push_back({"crown", crown.error().message()});
    }
  }
  return {};
}

}  // namespace rondure::plan
