// A square-on view of known scale: given in words, or from round references (pins, gauge discs) in the
// picture.
//
// Model: the diameter of reference i as read in the picture is  d_i = s D_i - 2 o  for a dark one on light
// ground (+ 2 o for a light one on dark), s the scale in px/mm, o the edge offset: exposure makes dark things
// smaller and holes larger by the same amount on every edge. One reference gives s (o = 0 is assumed); two or
// more of different size, or a dark and a light one, give both, by weighted least squares.
#pragma once
#include <string_view>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

// "40.12px/mm+-0.02", "1019 px/in": px/mm. Errors: kBadArgument.
Result<Estimate> parse_scale_px_per_mm(std::string_view text);

struct PinReading {
  Estimate diameter_mm;  // of the reference; u > 0
  Estimate diameter_px;  // as read in the picture
  bool dark = true;      // dark on light ground
};

struct PinScale {
  Estimate px_per_mm;
  Estimate edge_offset_px;  // value 0 and u the assumed one when only one reference was given
  double covariance = 0;    // of scale and offset
  bool offset_known = false;
  std::vector<double> residual_mm;  // of each reference's diameter
};
// `u_offset_px`: standard uncertainty of the edge offset when the references cannot tell it.
// Errors: kTooFewPoints, kBadCalibration (references that contradict each other by more than 6 u, nonsense
// scales).
Result<PinScale> scale_from_pins(const std::vector<PinReading>& pins, double u_offset_px);

MeasuringPlane plane_of_pins(int width_px, int height_px, const PinScale& scale);

}  // namespace rondure
