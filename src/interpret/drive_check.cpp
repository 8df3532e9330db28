#include "rondure/interpret/drive_check.hpp"

#include <cmath>

namespace rondure {
namespace {

double or_default(const Estimate& e) { return e.u > 0 ? e.u : kRatioMet_ratio * e.value; }

}  // namespace

Result<Estimate> diameter_from_drive(const DriveCheck& check) {
  const double t = check.belt_mm;
  if (!(t >= 0)) return Error{ErrorCode::kBadArgument, "needed a belt thickness of 0 or more"};
  Estimate d;
  if (check.mating_mm && check.ratio) {
    const double m = check.mating_mm->value, i = check.ratio->value;
    if (!(m > 0 && i > 0))
      return Error{ErrorCode::kBadArgument, "needed a mating diameter and a ratio above 0"};
    d = {(m + t) / i - t, std::hypot(check.mating_mm->u / i, (m + t) / (i * i) * or_default(*check.ratio))};
  } else if (check.surface_speed_mm_s && check.turns_per_second) {
    const double v = check.surface_speed_mm_s->value, n = check.turns_per_second->value;
    if (!(v > 0 && n > 0)) return Error{ErrorCode::kBadArgument, "needed a speed and a turning rate above 0"};
    const double pitch = v / (kPi * n);
    d = {pitch - t,
         pitch * std::hypot(or_default(*check.surface_speed_mm_s) / v, check.turns_per_second->u / n)};
  } else {
    return Error{ErrorCode::kBadArgument,
                 "a drive check needs --mating and --ratio, or --surface-speed and --turns"};
  }
  if (!(d.value > 0 && std::isfinite(d.value)))
    return Error{ErrorCode::kBadArgument, "no diameter above 0 gives this ratio or speed with this belt"};
  return d;
}

double drive_error_ratio(const DriveCheck& check, double diameter_mm) {
  const double pitch = diameter_mm + check.belt_mm;
  if (check.mating_mm && check.ratio)
    return (check.mating_mm->value + check.belt_mm) / pitch / check.ratio->value - 1;
  if (check.surface_speed_mm_s && check.turns_per_second)
    return kPi * check.turns_per_second->value * pitch / check.surface_speed_mm_s->value - 1;
  return 0;
}

}  // namespace rondure
