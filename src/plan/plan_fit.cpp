// The bore from its shaft.
#include <fmt/format.h>

#include <cmath>

#include "plan_steps.hpp"

namespace rondure::plan {
namespace {

// A metal feature near the bore is its shaft: within 5 % or 0.3 mm.
const Feature* shaft_feature(const PartRecord& record, double bore_mm) {
  const Feature* nearest = nullptr;
  for (const Feature& f : record.features) {
    if (f.kind != FeatureKind::kMetal || !f.circle) continue;
    const double off = std::fabs(f.circle->diameter_mm - bore_mm);
    if (off > std::fmax(0.05 * bore_mm, 0.3)) continue;
    if (!nearest || off < std::fabs(nearest->circle->diameter_mm - bore_mm)) nearest = &f;
  }
  return nearest;
}

// The wall round the bore that is strained most: the smallest outside that clears the bore, whatever it is called.
double hub_outside_mm(const ReplacementPlan& plan, double bore_mm) {
  double smallest = 0;
  for (const PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kOutside && s.target_mm > bore_mm && (smallest <= 0 || s.target_mm < smallest))
      smallest = s.target_mm;
  return smallest;
}

double hub_length_mm(const PlanInputs& in, const ReplacementPlan& plan) {
  double length = 0;
  for (const ProfileStep& s : in.options.steps) length += s.length_mm;
  if (length > 0) return length;
  for (const PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kWidth) length = std::fmax(length, s.target_mm);
  return length;
}

Result<Fit> asked_fit(const PlanInputs& in, const PlannedSize& bore, const std::optional<Estimate>& shaft,
                      bool& asked) {
  for (const auto& [name, text] : in.options.tolerances)
    if (name == bore.name || (name.empty() && text.find('/') != std::string::npos)) {
      asked = true;
      return parse_fit(text);
    }
  const Feature* feature = find_feature(in.record, bore.name);
  const bool tight = !feature || feature->kind == FeatureKind::kBoreOnMetal ||
                     (shaft && bore.intended_mm <= shaft->value + 1e-6);
  return tight ? usual_press_fit(bore.intended_mm) : usual_running_fit();
}

// A single class for the bore ("bore=H7"): no fit, the class on the drawing's size.
const std::string* single_class(const PlanOptions& options, const std::string& name) {
  for (const auto& [key, text] : options.tolerances)
    if (key == name && text.find('/') == std::string::npos) return &text;
  return nullptr;
}

Result<void> give_class(const std::string& text, PlannedSize& bore) {
  const auto d = deviations_for(text, bore.intended_mm);
  if (!d) return d.error();
  const Interval limits = rounded_inward_mm({bore.intended_mm + d->lower_mm, bore.intended_mm + d->upper_mm});
  bore.lower_mm = limits.lo;
  bore.upper_mm = limits.hi;
  bore.target_mm = middle_mm(limits);
  bore.tolerance = text;
  return {};
}

// A class that nobody asked for: where the tables do not reach, the bore stays without limits and the plan
// says so.
void give_usual_class(const char* text, PlannedSize& bore, ReplacementPlan& plan) {
  if (give_class(text, bore)) return;
  plan.warnings.push_back(
      {"no-class",
       fmt::format("{}: the tables of limits end below {:.4g} mm; state limits with --fit '{}=+-0.01mm'",
                   bore.name, bore.intended_mm, bore.name)});
}

Result<void> fit_bore(const PlanInputs& in, PlannedSize& bore, ReplacementPlan& plan) {
  if (const std::string* text = single_class(in.options, bore.name)) return give_class(*text, bore);
  ShaftFitRequest request;
  request.nominal_mm = bore.intended_mm;
  request.shaft_mm = in.options.shaft_mm;
  if (!request.shaft_mm)
    if (const Feature* shaft = shaft_feature(in.record, bore.intended_mm))
      request.shaft_mm = Estimate{shaft->circle->diameter_mm, shaft->circle->u_diameter_mm.value_or(0)};
  const Feature* measured = find_feature(in.record, bore.name);
  if (!request.shaft_mm && measured && measured->kind == FeatureKind::kBoreOnMetal) {
    request.shaft_mm = Estimate{*bore.old_mm, bore.u_old_mm.value_or(0)};
    request.shaft_from_bore = true;
  }
  for (const auto& [name, value] : in.options.interferences_mm)
    if (name == bore.name || name.empty()) request.interference_mm = value;
  bool asked = request.interference_mm.has_value();
  const auto fit = asked_fit(in, bore, request.shaft_mm, asked);
  if (!fit) return fit.error();
  request.fit = *fit;
  request.hub_outside_mm = hub_outside_mm(plan, bore.intended_mm);
  request.hub_length_mm = hub_length_mm(in, plan);
  request.hub = in.material_new;
  request.shaft = in.material_shaft;
  auto result = fit_on_shaft(request);
  if (!result && !asked) {
    give_usual_class("H7", bore, plan);
    return {};
  }
  if (!result) return result.error();
  if (request.shaft_mm &&
      std::fabs(request.shaft_mm->value - bore.intended_mm) > std::fmax(0.05 * bore.intended_mm, 0.3))
    result->warnings.push_back(
        {"shaft-far", fmt::format("the shaft ({:.3f} mm) is far from the bore's {:.3f} mm: is it the right "
                                  "shaft?",
                                  request.shaft_mm->value, bore.intended_mm)});
  if (!asked)
    result->notes.insert(result->notes.begin(),
                         result->kind == FitKind::kClearance
                             ? "chosen because the bore is larger than the shaft: it turns on it"
                             : "chosen because the bore sat tight on its shaft");
  bore.lower_mm = result->bore_limits_mm.lo;
  bore.upper_mm = result->bore_limits_mm.hi;
  bore.target_mm = result->bore_target_mm;
  bore.tolerance = result->text;
  if (request.shaft_mm) bore.basis = SizeBasis::kShaft;
  plan.warnings.insert(plan.warnings.end(), result->warnings.begin(), result->warnings.end());
  result->warnings.clear();
  plan.fit_feature = bore.name;
  plan.fit = std::move(*result);
  return {};
}

}  // namespace

Result<void> plan_fit(const PlanInputs& in, ReplacementPlan& plan) {
  const PlannedSize* main = main_bore(plan);
  if (!main) return {};
  for (PlannedSize& size : plan.sizes) {
    if (size.kind != FeatureKind::kBore) continue;
    if (&size == main) {
      if (const auto ok = fit_bore(in, size, plan); !ok) return ok;
    } else {
      const std::string* text = single_class(in.options, size.name);
      if (!text)
        give_usual_class("H8", size, plan);
      else if (const auto ok = give_class(*text, size); !ok)
        return ok;
    }
  }
  return {};
}

}  // namespace rondure::plan
