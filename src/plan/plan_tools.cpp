// Arcs: crown, tools on the shelf, form tool.
#include <fmt/format.h>

#include <cmath>
#include <vector>

#include "plan_steps.hpp"
#include "rondure/record/profile_section.hpp"

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

// A crown spans at most 60 degrees of its circle (width <= radius): a rounder arc is a groove for a round belt, or the
// round of an edge (judgement; common practice, no source: crowns rise by a few hundredths of the width).
bool flat_enough(const PlannedSize& arc, double width_mm) { return width_mm <= arc.target_mm; }

// Whether the side view, where there is one, lets the arc be the crown of that outside: its own surface, and no hollow.
bool may_crown(const std::optional<SideProfile>& seen, const PlannedSize& arc, const std::string& outside) {
  if (!seen) return true;
  for (const ProfileSegment& s : seen->segments)
    if (s.kind == SegmentKind::kArc && arc.name == radius_name(s)) return !s.concave && s.name == outside;
  return true;
}

PlannedSize* arc_named(ReplacementPlan& plan, const std::string& name) {
  for (PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kArc && s.name == name) return &s;
  return nullptr;
}

// The arc that is the running surface's crown: the one that the user says (check_names has found it), else the only
// one that can be; null = none.
Result<PlannedSize*> crown_arc(const PlanInputs& in, ReplacementPlan& plan, double width_mm) {
  const PlannedSize* running = plan.running();
  const auto& said = in.options.crown;
  PlannedSize* const none = nullptr;
  if (!running || (said && *said == kNoCrown)) return none;
  if (said) return arc_named(plan, *said);
  std::vector<PlannedSize*> arcs;
  for (PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kArc && flat_enough(s, width_mm) &&
        may_crown(in.record.profile, s, running->name))
      arcs.push_back(&s);
  if (arcs.size() > 1)
    plan.warnings.push_back(
        {"crown-unknown",
         fmt::format("'{}' and '{}' could each be the crown of '{}', so none is drawn: say which "
                     "with --crown NAME, or --crown none",
                     arcs[0]->name, arcs[1]->name, running->name)});
  if (arcs.size() != 1) return none;
  return arcs.front();
}

Result<void> plan_crown(const PlanInputs& in, ReplacementPlan& plan, double width_mm) {
  const auto arc = crown_arc(in, plan, width_mm);
  if (!arc) return arc.error();
  if (!*arc) return {};
  const PlannedSize* running = plan.running();
  const auto crown = crown_from_radius(running->target_mm, (*arc)->target_mm, width_mm);
  if (crown)
    plan.crown = *crown, (*arc)->of = running->name;
  else
    plan.warnings.push_back({"crown", crown.error().message()});
  return {};
}

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
  }
  return plan_crown(in, plan, width);
}

}  // namespace rondure::plan
