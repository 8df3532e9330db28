// The bore of the replacement from the shaft that it goes on.
//
// Measured shaft (value, u): the bore follows the shaft, not the nominal size. A fit such as H7/p6 states
// which clearances are wanted (ISO 286: EI - es to ES - ei at the nominal size); the bore gets the hole's
// tolerance width, laid so that the mean clearance on the measured shaft is the fit's mean. A direct
// interference i +- t: bore = shaft - i +- t. Bore still on its metal shaft and the shaft itself not
// measured: the shaft is as large as the bore, known no better than kUnprovenShaft_mm. Nothing known of the
// shaft: the hole's own class on the nominal size, the shaft taken as uniform in its class. Limits are
// rounded inward to whole micrometres (tenths where the zone is under 10 um).
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/making/limits_and_fits.hpp"
#include "rondure/making/press_fit.hpp"

namespace rondure::plan {

// Standard uncertainty taken for a shaft given without one: a micrometre reading (ISO 3611 instrument, from
// memory).
inline constexpr double kUnstatedShaft_mm = 0.002;
// Least standard uncertainty of a shaft that is only seen through the bore on it.
inline constexpr double kUnprovenShaft_mm = 0.005;
// Tolerance of a direct interference given without one: a tenth of a thousandth of an inch either way.
inline constexpr double kUnstatedInterference_mm = 0.00254;

struct ShaftFitRequest {
  double nominal_mm = 0;  // of bore and shaft
  Fit fit;
  std::optional<Estimate> interference_mm;  // value +- tolerance; instead of the fit. Negative = clearance
  std::optional<Estimate> shaft_mm;         // measured
  bool shaft_from_bore = false;             // shaft_mm is the size of a bore that sits on it
  double hub_outside_mm = 0, hub_length_mm = 0;
  Material hub, shaft;
};

struct ShaftFit {
  std::string text;  // "H7/p6 on the measured shaft", "interference 0.0102 mm"
  FitKind kind = FitKind::kClearance;
  Estimate shaft_mm;
  bool shaft_measured = false;
  double bore_target_mm = 0;
  Interval bore_limits_mm;
  Interval wanted_interference_mm;  // what the fit allows
  FitChance chance;
  std::optional<PressFitResult> press;  // where there can be interference and the materials are known
  std::vector<std::string> notes;
  std::vector<Warning> warnings;
};
// Errors: kBadArgument.
Result<ShaftFit> fit_on_shaft(const ShaftFitRequest& request);

// The press fit for a bore of this size when nothing else is asked: H7/s6 up to 3 mm (3 H7/p6 may still be
// loose), H7/p6 over.
Fit usual_press_fit(double nominal_mm);
Fit usual_running_fit();  // H7/g6

// Moves limits inward to the grid of the display.
Interval rounded_inward_mm(Interval limits_mm);
// The size to dial: the middle, on the same grid.
double middle_mm(Interval limits_mm);

}  // namespace rondure::plan
