#include "rondure/making/crown.hpp"

#include <cmath>
#include <cstdio>

namespace rondure::plan {
namespace {
Error bad_width(const char* what, double a_mm, double b_mm) {
  char buffer[160];
  std::snprintf(buffer, sizeof buffer, what, a_mm, b_mm);
  return {ErrorCode::kBadArgument, buffer};
}
}  // namespace

Result<double> sagitta_mm(double radius_mm, double chord_mm) {
  if (!(radius_mm > 0 && chord_mm >= 0 && chord_mm <= 2 * radius_mm && std::isfinite(radius_mm)))
    return bad_width(
        "found a radius of %.4g mm over a width of %.4g mm, needed a width of at most twice the radius",
        radius_mm, chord_mm);
  const double half = chord_mm / 2;
  return half * half / (radius_mm + std::sqrt((radius_mm - half) * (radius_mm + half)));
}

Result<Crown> crown_from_radius(double apex_diameter_mm, double crown_radius_mm, double width_mm) {
  const auto h = sagitta_mm(crown_radius_mm, width_mm);
  if (!h) return h.error();
  if (!(width_mm > 0 && 2 * *h < apex_diameter_mm))
    return bad_width("found a crown that falls by %.4g mm on a diameter of %.4g mm", *h, apex_diameter_mm);
  return Crown{crown_radius_mm, width_mm, *h, apex_diameter_mm - 2 * *h};
}

Result<Crown> crown_from_height(double apex_diameter_mm, double height_mm, double width_mm) {
  if (!(height_mm > 0 && width_mm > 0))
    return bad_width("found a crown height of %.4g mm over %.4g mm, needed both over 0", height_mm, width_mm);
  return crown_from_radius(apex_diameter_mm, width_mm * width_mm / (8 * height_mm) + height_mm / 2, width_mm);
}

std::string usual_crown(double apex_diameter_mm) {
  if (apex_diameter_mm < 25) return "no published crown height below 25 mm diameter: copy the original's";
  if (apex_diameter_mm <= 70)
    return "published for flat belts: 0.3 mm on 25 to 70 mm diameter (belt maker's guide)";
  if (apex_diameter_mm <= 100)
    return "published for flat belts: 0.43 mm up to 100 mm diameter (belt maker's guide)";
  return "see the belt maker's table";
}

}  // namespace rondure::plan
