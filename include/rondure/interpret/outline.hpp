// From the points of one outline to everything the record says of it: robust exclusion, circle, ellipse, reference
// circles, harmonics, verdict, and the uncertainty of the part's value with its budget.
#pragma once
#include <optional>
#include <span>

#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"

namespace rondure {

// How much out of round the part may be, for the uncertainty of what the points did not see.
struct FormAssumption {
  enum class Kind { kEstimate, kNone, kStated } kind = Kind::kEstimate;
  double out_of_round_mm = 0;  // kStated: expected peak-to-valley of the radius
};

struct OutlineOptions {
  FormAssumption form;
  bool plain = false;                 // ordinary least squares of all points as they stand
  std::optional<double> sigma_mm;     // reading uncertainty per axis, when known (overrides the points' own)
  double resolution_mm = 0;           // step of the readings; 0 = found from the points or none
  bool correlated = false;            // neighbouring points share errors (photographed edges)
  double u_scale_ratio = 0;           // relative standard uncertainty of the scale
  double u_edge_offset_mm = 0;        // standard uncertainty of where the edge lies, per edge (radius)
  std::vector<BudgetLine> more;       // further independent contributions to the diameter (calibration, height ...)
  std::optional<double> temperature_c;      // of the part while measured: sizes are brought to 20 C
  double u_temperature_c = 1.0;
  double expansion_per_k = 0, u_expansion_per_k = 0;  // of the part; needed with temperature_c
};

// Errors: those of fit_circle, kRadiusUndetermined.
Result<Feature> measure_outline(std::span<const MeasuredPoint> points, const OutlineOptions& options = {});

// One radius from chord and sagitta: R = c^2/(8 h) + h/2 (derived, plane geometry), first-order GUM uncertainty and
// the interval through the curvature. Lengths mm. Errors: kBadArgument, kRadiusUndetermined.
Result<Feature> measure_chord(Estimate chord_mm, Estimate sagitta_mm);

}  // namespace rondure
