#include "rondure/photo/scale.hpp"

#include <Eigen/Dense>
#include <cmath>

#include "rondure/core/length.hpp"

namespace rondure {
namespace {

// A reference further off the others was told wrong: by judgement; a normal law has none of so many u.
constexpr double kContradiction_u = 6;
// Of a scale typed without one, in each direction by itself: a flatbed's two directions differ by as much, and
// a camera 4.4 degrees from square-on foreshortens by as much (common practice, no source).
constexpr double kUnstatedScale_ratio = 0.003;

std::string number_text(double value, int decimals) {
  char text[48];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

}  // namespace

Result<Estimate> parse_scale_px_per_mm(std::string_view text) {
  const std::string needed = "scale '" + std::string(text) + "'; needed one like 40.12px/mm+-0.02";
  std::string rest(text);
  double per_mm = 1;
  const auto take_out = [&](const std::string& unit, double factor) {
    const auto at = rest.find(unit);
    if (at == std::string::npos) return false;
    rest.erase(at, unit.size());
    per_mm = factor;
    return true;
  };
  if (!take_out("px/mm", 1) && !take_out("px/in", 1 / kMmPerInch) && !take_out("dpi", 1 / kMmPerInch))
    return Error{ErrorCode::kBadArgument, needed};
  take_out(per_mm == 1                             ? "px/mm"
           : rest.find("dpi") != std::string::npos ? "dpi"
                                                   : "px/in",
           per_mm);  // the uncertainty may carry its unit too
  // The lengths' own reader knows "+-" and its other spellings.
  const auto value = parse_length_with_u_mm(rest, LengthUnit::kMm);
  if (!value || !(value->value > 0) || !(value->u >= 0) || value->u > 0.5 * value->value)
    return Error{ErrorCode::kBadArgument, needed};
  const bool stated = rest.find_first_of("+\xc2") != std::string::npos;  // "+-", "+/-" or the sign itself
  return Estimate{value->value * per_mm, (stated ? value->u : kUnstatedScale_ratio * value->value) * per_mm};
}

Result<PinScale> scale_from_pins(const std::vector<PinReading>& pins, double u_offset_px) {
  if (pins.empty()) return Error{ErrorCode::kTooFewPoints, "no reference; needed one pin or more"};
  for (const PinReading& p : pins)
    if (!(p.diameter_mm.value > 0) || !(p.diameter_px.value > 0))
      return Error{ErrorCode::kBadCalibration, "a reference of no size"};
  PinScale out;
  double scale = 0;
  for (const PinReading& p : pins)
    scale += p.diameter_px.value / p.diameter_mm.value / static_cast<double>(pins.size());
  Eigen::Matrix2d c;
  Eigen::Vector2d x(scale, 0);
  for (int pass = 0; pass < 3; ++pass) {  // the weights need the scale
    Eigen::Matrix2d n = Eigen::Matrix2d::Zero();
    Eigen::Vector2d g = Eigen::Vector2d::Zero();
    for (const PinReading& p : pins) {
      const double variance = std::pow(p.diameter_px.u, 2) + std::pow(x(0) * p.diameter_mm.u, 2) + 1e-8;
      const Eigen::Vector2d row(p.diameter_mm.value, p.dark ? -2 : 2);
      n += row * row.transpose() / variance;
      g += row * p.diameter_px.value / variance;
    }
    n(1, 1) += 1 / (u_offset_px * u_offset_px);  // what is assumed of the offset before any reference
    c = n.inverse();
    x = c * g;
  }
  out.px_per_mm = {x(0), std::sqrt(c(0, 0))};
  out.edge_offset_px = {x(1), std::sqrt(c(1, 1))};
  out.covariance = c(0, 1);
  out.offset_known = out.edge_offset_px.u < 0.5 * u_offset_px;
  if (!out.offset_known && pins.size() == 1) out.edge_offset_px.value = 0;
  if (!(x(0) > 0)) return Error{ErrorCode::kBadCalibration, "the references give no scale above 0"};
  for (std::size_t i = 0; i < pins.size(); ++i) {
    const PinReading& p = pins[i];
    const double residual = (p.diameter_px.value + (p.dark ? 2 : -2) * x(1)) / x(0) - p.diameter_mm.value;
    const double u = std::hypot(p.diameter_px.u / x(0), p.diameter_mm.u) + 2e-4;
    out.residual_mm.push_back(residual);
    if (std::abs(residual) > kContradiction_u * u && pins.size() > 1)
      return Error{ErrorCode::kBadCalibration,
                   "reference " + std::to_string(i + 1) + " of " + number_text(p.diameter_mm.value, 3) +
                       " mm reads " + number_text(residual, 4) +
                       " mm off what the others say; needed the pins left to right in the picture"};
  }
  return out;
}

MeasuringPlane plane_of_pins(int width_px, int height_px, const PinScale& scale) {
  MeasuringPlane plane = plane_of_scale(width_px, height_px, scale.px_per_mm.value, scale.px_per_mm.u);
  plane.edge_offset_px = scale.edge_offset_px.value;
  plane.u_edge_offset_px = scale.edge_offset_px.u;
  plane.description = scale.offset_known ? "scale and edge offset from pins, square-on view"
                                         : "scale from a pin, square-on view";
  return plane;
}

}  // namespace rondure
