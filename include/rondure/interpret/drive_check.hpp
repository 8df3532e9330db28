// What a belt or friction drive says of the original diameter: the working size follows from the speed that
// was wanted.
//
// A belt of thickness t leaves along a tangent and moves with its middle layer, so with this part of diameter
// D on the one shaft and a mating pulley of diameter M on the other (derived; friction drives and thin tapes:
// t = 0)
//   ratio i = turns of this part for one turn of the mating pulley = (M + t)/(D + t)   ->  D = (M + t)/i - t
//   surface speed v at n turns per second                          = pi n (D + t)     ->  D = v/(pi n) - t
// First-order uncertainty (GUM). A ratio or speed without a stated uncertainty is taken as met to
// kRatioMet_ratio: the designer rounded the diameters (judgement). Slip and belt stretch are not in it. mm,
// mm/s, turns per second.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

inline constexpr double kRatioMet_ratio = 0.005;

struct DriveCheck {
  double belt_mm = 0;
  std::optional<Estimate> mating_mm, ratio;                      // both, or
  std::optional<Estimate> surface_speed_mm_s, turns_per_second;  // both
};

// The diameter that meets the wanted ratio or speed. Errors: kBadArgument (neither pair complete, or no such
// diameter).
Result<Estimate> diameter_from_drive(const DriveCheck& check);
// How far the ratio or speed is off, relative to the wanted one, when the part has this diameter.
double drive_error_ratio(const DriveCheck& check, double diameter_mm);

}  // namespace rondure
