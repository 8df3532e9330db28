#include "rondure/making/shaft_fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "rondure/core/length.hpp"

namespace rondure::plan {
namespace {

std::string um(double mm) { return fmt::format("{:.1f} um", mm * 1000); }

// What a standard H7 reamer would give on this shaft, where that is another fit.
void note_reamer(const ShaftFitRequest& request, ShaftFit& f) {
  const auto h7 = limit_deviations(request.nominal_mm, {"H", 7, true});
  if (!h7 || !f.shaft_measured) return;
  const double lo = request.nominal_mm + h7->lower_mm, hi = request.nominal_mm + h7->upper_mm;
  if (f.bore_limits_mm.lo <= lo && hi <= f.bore_limits_mm.hi) return;
  const auto signed_um = [](double clearance_mm) {
    return um(std::fabs(clearance_mm)) + (clearance_mm < 0 ? " tight" : " loose");
  };
  f.notes.push_back(fmt::format("a {:g} mm H7 reamer gives {} to {} on this shaft: not this fit",
                                request.nominal_mm, signed_um(lo - f.shaft_mm.value),
                                signed_um(hi - f.shaft_mm.value)));
}

void note_force_fit(const ShaftFitRequest& request, ShaftFit& f) {
  if (f.chance.mean_interference_mm <= 0) return;
  for (const char* drive : {"FN1", "FN2"}) {
    const auto range = force_fit_interference_mm(request.nominal_mm, drive);
    if (range && range->contains(f.chance.mean_interference_mm))
      f.notes.push_back(fmt::format("inside ANSI B4.1 {} ({} to {})", drive, um(range->lo), um(range->hi)));
  }
}

void warn_of_chance(ShaftFit& f) {
  const double outside = f.chance.p_below + f.chance.p_above;
  if (outside > 0.05)
    f.warnings.push_back(
        {"fit-chance",
         fmt::format("{:.0f} % chance that the fit falls outside its limits: measure the shaft{}",
                     outside * 100, f.shaft_measured ? " better" : "")});
  const bool said = f.press && may_be_loose(*f.press);
  if (f.kind != FitKind::kClearance && f.chance.p_loose > 0.01 && !said)
    f.warnings.push_back(
        {"may-turn", fmt::format("{:.0f} % chance of no interference at all: bore to the lower half of the "
                                 "limits, or secure it with retaining compound",
                                 f.chance.p_loose * 100)});
  if (f.kind == FitKind::kClearance && f.chance.p_loose < 0.99)
    f.warnings.push_back(
        {"may-bind", fmt::format("{:.0f} % chance that it does not go on freely: bore to the upper half of "
                                 "the limits",
                                 (1 - f.chance.p_loose) * 100)});
}

}  // namespace

Interval rounded_inward_mm(Interval limits_mm) {
  const double grid = limits_mm.width() < 0.0099 ? 1e4 : 1e3;
  const Interval rounded{std::ceil(limits_mm.lo * grid - 1e-6) / grid,
                         std::floor(limits_mm.hi * grid + 1e-6) / grid};
  return rounded.lo <= rounded.hi ? rounded : limits_mm;
}

double middle_mm(Interval limits_mm) {
  const double grid = limits_mm.width() < 0.0099 ? 1e4 : 1e3;
  return std::round((limits_mm.lo + limits_mm.hi) / 2 * grid) / grid;
}

Fit usual_press_fit(double nominal_mm) {
  return {{"H", 7, true},
          nominal_mm <= 3 + 1e-9 ? ToleranceClass{"s", 6, false} : ToleranceClass{"p", 6, false}};
}
Fit usual_running_fit() { return {{"H", 7, true}, {"g", 6, false}}; }

Result<ShaftFit> fit_on_shaft(const ShaftFitRequest& request) {
  ShaftFit f;
  f.shaft_measured = request.shaft_mm.has_value() && !request.shaft_from_bore;
  if (request.shaft_mm) {
    f.shaft_mm = *request.shaft_mm;
    if (!(f.shaft_mm.value > 0)) return Error{ErrorCode::kBadArgument, "needed a shaft of more than 0 mm"};
    if (request.shaft_from_bore) {
      f.shaft_mm.u = std::max(f.shaft_mm.u, kUnprovenShaft_mm);
      f.warnings.push_back(
          {"shaft-unmeasured",
           fmt::format("the shaft is taken as large as the bore that sat on it, {:.3f} mm +- {}: measure the "
                       "shaft with a micrometer before boring (--shaft)",
                       f.shaft_mm.value, um(f.shaft_mm.u))});
    } else if (f.shaft_mm.u <= 0) {
      f.shaft_mm.u = kUnstatedShaft_mm;
      f.notes.push_back(fmt::format("shaft given without an uncertainty: {} taken", um(kUnstatedShaft_mm)));
    }
  }
  Interval bore;
  if (request.interference_mm) {
    const double tolerance =
        request.interference_mm->u > 0 ? request.interference_mm->u : kUnstatedInterference_mm;
    const double wanted = request.interference_mm->value;
    if (!request.shaft_mm) {
      f.shaft_mm = {request.nominal_mm, kUnstatedShaft_mm};
      f.warnings.push_back(
          {"shaft-unmeasured",
           fmt::format("the shaft is taken as {:g} mm: measure it before boring", request.nominal_mm)});
    }
    f.kind = wanted > tolerance    ? FitKind::kInterference
             : wanted < -tolerance ? FitKind::kClearance
                                   : FitKind::kTransition;
    f.text = fmt::format("{} {:.4f} +- {:.4f} mm", wanted < 0 ? "clearance" : "interference",
                         std::fabs(wanted), tolerance);
    bore = {f.shaft_mm.value - wanted - tolerance, f.shaft_mm.value - wanted + tolerance};
    // the wanted range also takes up the shaft's own uncertainty, which nobody can bore away
    f.wanted_interference_mm = {wanted - tolerance - 2 * f.shaft_mm.u, wanted + tolerance + 2 * f.shaft_mm.u};
  } else {
    const auto limits = fit_limits(request.nominal_mm, request.fit);
    if (!limits) return limits.error();
    f.kind = limits->kind;
    f.wanted_interference_mm = {-limits->max_clearance_mm, -limits->min_clearance_mm};
    if (request.shaft_mm) {
      const double half = (limits->hole.upper_mm - limits->hole.lower_mm) / 2;
      const double middle = f.shaft_mm.value + (limits->min_clearance_mm + limits->max_clearance_mm) / 2;
      bore = {middle - half, middle + half};
      f.text = request.fit.text() + (f.shaft_measured ? " on the measured shaft" : " on the shaft");
    } else {
      const double es = request.nominal_mm + limits->shaft.upper_mm,
                   ei = request.nominal_mm + limits->shaft.lower_mm;
      f.shaft_mm = {(es + ei) / 2, (es - ei) / std::sqrt(12.0)};
      bore = {request.nominal_mm + limits->hole.lower_mm, request.nominal_mm + limits->hole.upper_mm};
      f.text = request.fit.text() + fmt::format(" at {:g} mm", request.nominal_mm);
      f.warnings.push_back(
          {"shaft-unmeasured", fmt::format("the shaft is taken as made to {:g} {}: measure it before boring",
                                           request.nominal_mm, request.fit.shaft.text())});
    }
  }
  if (!(bore.lo > 0)) return Error{ErrorCode::kBadArgument, "the interference leaves no bore"};
  f.bore_limits_mm = rounded_inward_mm(bore);
  f.bore_target_mm = middle_mm(f.bore_limits_mm);
  f.chance = chance_of_fit(f.shaft_mm, f.bore_limits_mm, f.wanted_interference_mm);
  if (f.kind != FitKind::kClearance && request.hub_outside_mm > f.shaft_mm.value) {
    auto press = press_fit({f.shaft_mm, f.bore_limits_mm, request.hub_outside_mm, request.hub_length_mm,
                            request.hub, request.shaft});
    if (press) {
      f.warnings.insert(f.warnings.end(), press->warnings.begin(), press->warnings.end());
      f.press = std::move(*press);
      f.press->warnings.clear();
    }
  }
  note_force_fit(request, f);
  note_reamer(request, f);
  warn_of_chance(f);
  return f;
}

}  // namespace rondure::plan
