// From the points of one outline to everything the record says of it: robust exclusion, circle, ellipse,
// reference circles, harmonics, verdict, and the uncertainty of the part's value with its budget.
#pragma once
#include <optional>
#include <span>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/fit/form_radius.hpp"
#include "rondure/interpret/feature.hpp"

namespace rondure {

// How much out of round the part may be, for the uncertainty of what the points did not see.
struct FormAssumption {
  enum class Kind { kEstimate, kNone, kStated } kind = Kind::kEstimate;
  double out_of_round_mm = 0;  // kStated: expected peak-to-valley of the radius
};

// A stretch of an outline as seen from its centre: counter-clockwise from `from`, degrees.
struct OutlineSector {
  double from_deg = 0, to_deg = 0;
  bool holds(double direction_deg) const;
};

struct OutlineOptions {
  FormAssumption form;
  // What a person has decided: left out whatever it shows; taken in although it looks like damage. The rest is judged
  // as always, without the sectors left out.
  std::vector<OutlineSector> left_out, taken_in;
  bool plain = false;              // ordinary least squares of all points as they stand
  std::optional<double> sigma_mm;  // reading uncertainty per axis, when known (overrides the points' own)
  double resolution_mm = 0;        // step of the readings; 0 = found from the points or none
  bool correlated = false;         // neighbouring points share errors (photographed edges)
  double u_scale_ratio = 0;        // relative standard uncertainty of the scale
  double u_edge_offset_mm = 0;     // standard uncertainty of where the edge lies, per edge (radius)
  // Covariance of the radius's second harmonic (cosine, sine) from the measuring plane: false ovality, mm^2.
  Eigen::Matrix2d second_harmonic_mm2 = Eigen::Matrix2d::Zero();
  // Standard uncertainty of each coefficient of the higher harmonics of the radius: false lobes that all points share.
  double u_lobes_mm = 0;
  std::vector<BudgetLine>
      more;  // further independent contributions to the diameter (calibration, height ...)
  std::optional<double> temperature_c;  // of the part while measured: sizes are brought to 20 C
  double u_temperature_c = 1.0;
  double expansion_per_k = 0, u_expansion_per_k = 0;  // of the part; needed with temperature_c
  // Size at 20 C / size as measured: everything scales alike, the part is free and of one material.
  double at_20_c_ratio() const {
    return temperature_c ? 1 / (1 + expansion_per_k * (*temperature_c - 20)) : 1;
  }
  // Readings of other kinds on the same outline: chord and sagitta, radius overlay, two-point diameters.
  // Combined with the points into one radius (form_radius.hpp), with Feature::combination saying which
  // carries the weight.
  std::vector<OutlineReading> others;
  std::vector<int> kept_lines;  // readings that the reader keeps as they stand: never left out
};

// The feature that the points (and options.others) show. Without points the others alone are measured.
//
// circle.diameter is the best value of the least-squares diameter (GG) of the whole part, which on arcs and
// gappy outlines is not quite the least-squares circle of the points; with `plain` it is that circle, and u
// and interval are those of ordinary least squares (noise alone, Student). A radius whose curvature interval
// reaches 0 by noise alone is an error; where only unseen form makes it so, the circle is given without an
// interval and the warning "no-upper-limit" states the least radius. Errors: those of fit_circle,
// kRadiusUndetermined, kBadArgument.
Result<Feature> measure_outline(std::span<const MeasuredPoint> points, const OutlineOptions& options = {});

// One radius from chord and sagitta: R = c^2/(8 h) + h/2 (derived, plane geometry), first-order GUM
// uncertainty and the interval through the curvature. Lengths mm. Errors: kBadArgument, kRadiusUndetermined.
Result<Feature> measure_chord(Estimate chord_mm, Estimate sagitta_mm);

}  // namespace rondure
