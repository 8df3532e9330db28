// Which size to make of each feature, and its tolerance.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "plan_steps.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/warning.hpp"

namespace rondure::plan {
namespace {

constexpr const char* kRunningClass = "js8";
constexpr const char* kOutsideClass = "h10";
constexpr const char* kWidthClass = "js12";

FeatureKind plan_kind(const Feature& feature) {
  if (feature.kind.is_bore()) return FeatureKind::kBore;
  if (feature.kind == FeatureKind::kWidth || feature.kind == FeatureKind::kArc) return feature.kind;
  return FeatureKind::kOutside;
}

// Size as it is dimensioned: an arc by its radius.
double drawn_size_mm(const Feature& feature) {
  return feature.circle->diameter_mm * feature.kind.drawn_share();
}

const OriginalFeature* original_of(const PartRecord& record, const std::string& name) {
  if (!record.original) return nullptr;
  for (const OriginalFeature& f : record.original->features)
    if (f.name == name && !f.candidates.empty()) return &f;
  return nullptr;
}

template <class Value>
const Value* asked_for(const std::vector<std::pair<std::string, Value>>& list, const std::string& name,
                       bool main_one) {
  const Value* found = nullptr;
  for (const auto& [key, value] : list)
    if (key == name || (key.empty() && main_one && !found)) found = &value;
  return found;
}

PlannedSize choose_size(const PartRecord& record, const PlanOptions& options, const Feature& feature,
                        bool main_one, std::vector<Warning>& warnings) {
  PlannedSize size;
  size.name = feature.name;
  size.kind = plan_kind(feature);
  size.old_mm = drawn_size_mm(feature);
  if (feature.circle->u_diameter_mm) size.u_old_mm = *feature.circle->u_diameter_mm * size.kind.drawn_share();
  if (const double* chosen = asked_for(options.chosen_mm, feature.name, main_one)) {
    size.intended_mm = *chosen;
    size.basis = SizeBasis::kChosen;
  } else if (const OriginalFeature* original = original_of(record, feature.name)) {
    const SizeCandidate& best = original->candidates.front();
    size.intended_mm = best.size_mm;
    size.original_label = best.label;
    size.probability = best.probability;
    size.basis = original->undecided ? SizeBasis::kOriginalUndecided : SizeBasis::kOriginal;
    if (original->undecided) {
      std::string others;
      for (std::size_t i = 1; i < original->candidates.size() && i < 3; ++i)
        others += fmt::format("{} {} {:.0f} %", i == 1 ? ";" : ",", original->candidates[i].label,
                              original->candidates[i].probability * 100);
      warnings.push_back(
          {WarningCode::kSizeUndecided,
           fmt::format("{}: the original is not decided ({} {:.0f} %{}): measure more before you cut, or "
                       "--choose '{}={:.7g}mm'",
                       feature.name, best.label, best.probability * 100, others, feature.name,
                       best.size_mm)});
    }
  } else {
    size.intended_mm = *size.old_mm;
    size.basis = SizeBasis::kMeasured;
    warnings.push_back(
        {"size-as-measured",
         fmt::format("{}: no original size inferred, this is the part as it is today, shrunk and worn; run "
                     "'rondure original' with --save first, or choose with --choose",
                     feature.name)});
  }
  size.target_mm = size.intended_mm;
  if (size.basis == SizeBasis::kMeasured) size.target_mm = std::round(size.intended_mm * 1000) / 1000;
  return size;
}

Result<void> give_limits(const PlanOptions& options, PlannedSize& size, bool running) {
  const std::string* asked = asked_for(options.tolerances, size.name, running);
  if (size.kind == FeatureKind::kArc && !asked) return {};
  std::string text = asked                              ? *asked
                     : running                          ? kRunningClass
                     : size.kind == FeatureKind::kWidth ? kWidthClass
                                                        : kOutsideClass;
  if (asked && asked->find('/') != std::string::npos) {
    if (asked_for(options.tolerances, size.name, false))
      return Error{ErrorCode::kBadArgument, "found the fit " + *asked + " for '" + size.name +
                                                "', which is no bore; needed one "
                                                "class, such as h9"};
    text = kRunningClass;
    asked = nullptr;
  }
  const bool by_speed = running && !asked && options.speed_error_ratio;
  LimitDeviations d;
  if (by_speed) {
    const double pm =
        tolerances_for_speed(size.intended_mm, options.belt_thickness_mm, *options.speed_error_ratio, 0)
            .diameter_pm_mm;
    d = {pm, -pm};
    text = fmt::format("for {:g} % speed", *options.speed_error_ratio * 100);
  } else {
    auto found = deviations_for(text, size.intended_mm);
    if (!found && !asked) {  // beyond the tables: general tolerance
      found = LimitDeviations{0.1, -0.1};
      text = "+-0.1 mm, no class for this size";
    }
    if (!found) return found.error();
    d = *found;
  }
  const Interval limits = rounded_inward_mm({size.intended_mm + d.lower_mm, size.intended_mm + d.upper_mm});
  size.lower_mm = limits.lo;
  size.upper_mm = limits.hi;
  size.target_mm = middle_mm(limits);
  size.tolerance = text;
  return {};
}

double rounded_down(double mm, double step_mm) {
  return std::max(step_mm, std::floor(mm / step_mm + 1e-6) * step_mm);
}

void give_form(const PlanOptions& options, PlannedSize& size) {
  if (options.speed_variation_ratio) {
    const auto t =
        tolerances_for_speed(size.intended_mm, options.belt_thickness_mm, 0, *options.speed_variation_ratio);
    size.run_out_mm = rounded_down(t.run_out_mm, 0.001);
    size.roundness_mm = rounded_down(t.roundness_mm, 0.001);
  } else {
    const double zone = *size.upper_mm - *size.lower_mm;
    size.run_out_mm = rounded_down(zone / 2, 0.001);
    size.roundness_mm = rounded_down(zone / 2, 0.001);
  }
}

// Every name that the user gave must be one of the record's.
Result<void> check_names(const PlanInputs& in) {
  std::string known;
  for (const Feature& f : in.record.features) known += (known.empty() ? "" : ", ") + f.name;
  const auto check = [&](const std::string& name) -> Result<void> {
    if (name.empty() || find_feature(in.record, name) || (name == "bore" && in.options.shaft_mm)) return {};
    return Error{ErrorCode::kBadArgument, "found the name '" + name + "', the record has: " + known};
  };
  for (const auto& [name, text] : in.options.tolerances)
    if (const auto ok = check(name); !ok) return ok;
  for (const auto& [name, value] : in.options.interferences_mm)
    if (const auto ok = check(name); !ok) return ok;
  for (const auto& [name, value] : in.options.chosen_mm)
    if (const auto ok = check(name); !ok) return ok;
  const auto is = [&](const std::string& name, FeatureKind kind) {
    const Feature* f = find_feature(in.record, name);
    return f && plan_kind(*f) == kind;
  };
  for (const auto& [width, outside] : in.options.width_of)
    if (!is(width, FeatureKind::kWidth) || !is(outside, FeatureKind::kOutside))
      return Error{ErrorCode::kBadArgument,
                   "--width-of: found '" + width + "=" + outside +
                       "', needed a width and an outside of the record, which has: " + known};
  if (const auto& crown = in.options.crown; crown && *crown != kNoCrown && !is(*crown, FeatureKind::kArc))
    return Error{ErrorCode::kBadArgument,
                 "--crown: found '" + *crown + "', needed an arc of the record, or none; it has: " + known};
  return check(in.options.running_surface);
}

int making_order(const PlannedSize& size, const std::string& running) {
  if (size.kind == FeatureKind::kBore) return 0;
  if (size.name == running) return 1;
  if (size.kind == FeatureKind::kOutside) return 2;
  return size.kind == FeatureKind::kWidth ? 3 : 4;
}

}  // namespace

Result<LimitDeviations> deviations_for(const std::string& text, double nominal_mm) {
  if (text.starts_with("+-") || text.starts_with("\u00b1")) {
    const auto pm = parse_length_mm(text.substr(2), LengthUnit::kMm);
    if (!pm) return pm.error();
    if (!(*pm > 0))
      return Error{ErrorCode::kBadArgument, "found the tolerance '" + text + "', needed more than 0"};
    return LimitDeviations{*pm, -*pm};
  }
  const auto parsed = parse_tolerance_class(text);
  if (!parsed) return parsed.error();
  return limit_deviations(nominal_mm, *parsed);
}

const Feature* find_feature(const PartRecord& record, const std::string& name) {
  for (const Feature& f : record.features)
    if (f.name == name) return &f;
  return nullptr;
}

const Feature* running_feature(const PartRecord& record, const PlanOptions& options) {
  if (!options.running_surface.empty()) return find_feature(record, options.running_surface);
  for (const Feature& f : record.features)
    if (f.circle && f.kind == FeatureKind::kOutside) return &f;
  return nullptr;
}

// The record's own metal that can be this part's shaft: smaller than its largest outside.
std::vector<const Feature*> shafts_of(const PartRecord& record) {
  double largest_mm = 0;
  for (const Feature& f : record.features)
    if (f.circle && f.kind == FeatureKind::kOutside)
      largest_mm = std::fmax(largest_mm, f.circle->diameter_mm);
  std::vector<const Feature*> shafts;
  for (const Feature& f : record.features)
    if (f.circle && f.kind == FeatureKind::kMetal && f.circle->diameter_mm < largest_mm) shafts.push_back(&f);
  return shafts;
}

// --shaft is taken; a shaft of the record that says otherwise is named.
void name_other_shaft(const std::vector<const Feature*>& shafts, const Estimate& told,
                      ReplacementPlan& plan) {
  const auto agrees = [&](const Feature* f) {
    return std::fabs(f->circle->diameter_mm - told.value) <=
           3 * std::hypot(f->circle->u_diameter_mm.value_or(0), told.u);
  };
  if (shafts.empty() || std::ranges::any_of(shafts, agrees)) return;
  plan.warnings.push_back(
      {"shaft-far", fmt::format("--shaft says {:.3f} mm, '{}' of the record measures {:.3f} mm: --shaft "
                                "is taken; is it the right shaft?",
                                told.value, shafts.front()->name, shafts.front()->circle->diameter_mm)});
}

// Without a bore in the record the shaft tells it: the one that is told, or the record's own.
void plan_bore_of_shaft(const PlanInputs& in, ReplacementPlan& plan) {
  const std::vector<const Feature*> shafts = shafts_of(in.record);
  if (in.options.shaft_mm) name_other_shaft(shafts, *in.options.shaft_mm, plan);
  if (std::ranges::any_of(plan.sizes, [](const auto& s) { return s.kind == FeatureKind::kBore; })) return;
  if (!in.options.shaft_mm && shafts.size() > 1)
    plan.warnings.push_back(
        {"shaft-unmeasured", fmt::format("the record has no bore, and '{}' and '{}' may each "
                                         "be the shaft: no bore is planned; give --shaft SIZE",
                                         shafts[0]->name, shafts[1]->name)});
  if (!in.options.shaft_mm && shafts.size() != 1) return;
  PlannedSize bore;  // the old bore is gone, or was never measured
  bore.name = "bore", bore.kind = FeatureKind::kBore;
  bore.intended_mm = bore.target_mm =
      in.options.shaft_mm ? in.options.shaft_mm->value : shafts.front()->circle->diameter_mm;
  bore.basis = SizeBasis::kShaft;
  plan.sizes.push_back(std::move(bore));
  plan.warnings.push_back(
      {"bore-from-shaft",
       fmt::format("the record has no bore: planned for the shaft{} alone, tight on it; say --fit "
                   "bore=H7/g6 if it turns on it",
                   in.options.shaft_mm ? std::string() : " '" + shafts.front()->name + "' of the record")});
}

Result<void> plan_sizes(const PlanInputs& in, ReplacementPlan& plan) {
  if (const auto ok = check_names(in); !ok) return ok;
  const Feature* running = running_feature(in.record, in.options);
  for (const Feature& feature : in.record.features) {
    if (!feature.circle || !(feature.circle->diameter_mm > 0) || feature.kind == FeatureKind::kMetal)
      continue;
    const bool is_running = running && feature.name == running->name;
    PlannedSize size = choose_size(in.record, in.options, feature, is_running, plan.warnings);
    if (size.kind != FeatureKind::kBore) {
      if (const auto ok = give_limits(in.options, size, is_running); !ok) return ok;
      if (is_running && size.lower_mm) give_form(in.options, size);
    }
    plan.sizes.push_back(std::move(size));
  }
  if (const auto ok = give_widths_their_outsides(in, plan); !ok) return ok;
  if (in.options.width_mm && running && !width_of(plan, running->name)) {
    PlannedSize width;
    width.name = "width";
    width.kind = FeatureKind::kWidth;
    width.of = running->name;
    width.intended_mm = width.target_mm = *in.options.width_mm;
    width.basis = SizeBasis::kStated;
    if (const auto ok = give_limits(in.options, width, false); !ok) return ok;
    plan.sizes.push_back(std::move(width));
  }
  plan_bore_of_shaft(in, plan);
  if (plan.sizes.empty())
    return Error{ErrorCode::kNoAnswer,
                 "found no measured outside, bore, width or arc in the record, needed one to plan from"};
  const std::string name = running ? running->name : "";
  std::stable_sort(plan.sizes.begin(), plan.sizes.end(), [&](const PlannedSize& a, const PlannedSize& b) {
    return making_order(a, name) < making_order(b, name);
  });
  return {};
}

}  // namespace rondure::plan
