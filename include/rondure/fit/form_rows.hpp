// The linearised equations of an outline for form_posterior: harmonics as columns, points as rows.
#pragma once
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/fit/form_model.hpp"

namespace rondure {

// Where the outline is linearised. Angles of the columns are counted from zero_rad (the middle of an arc).
struct Linearisation {
  PartPoint center;
  double radius_mm = 0, zero_rad = 0;
};

// Flat columns: 1, cos t, sin t, then cos k t, sin k t for k = 2..flat_last; form columns: orders form_first..form_last.
// Rows in units of the radius, divided by relative_sigma (empty = all 1).
FormRows circle_rows(std::span<const PartPoint> points, std::span<const double> relative_sigma,
                     const Linearisation& at, int flat_last, int form_first, int form_last);

// Neighbouring points share errors: first-order autoregression whose correlation over one median gap is phi (source:
// Prais & Winsten's transformation, from memory; between points further apart phi to the power gap/median gap).
// `rows` in order round the edge, `gaps` between neighbours, in units of the median gap.
FormRows prewhitened(const FormRows& rows, std::span<const double> gaps, double phi, double prior_mass);

// The mixture over the correlation that we use for photographed edges.
std::vector<FormRows> correlated_alternatives(const FormRows& rows, std::span<const double> gaps);

// Points and relative sigmas put in order round the centre, and the gaps between neighbours over the median gap.
struct OrderedPoints {
  std::vector<PartPoint> points;
  std::vector<double> relative_sigma, gaps;
};
OrderedPoints in_order_round(std::span<const PartPoint> points, std::span<const double> relative_sigma,
                             const Linearisation& at);

}  // namespace rondure
