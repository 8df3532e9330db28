#include <cmath>

#include "outline_parts.hpp"
#include "rondure/fit/ellipse_fit.hpp"

namespace rondure {

void add_ellipse(Feature& feature, const OutlineData& data, const OutlineOptions& options) {
  if (!options.plain && feature.points.coverage_deg < 180) {
    feature.warnings.push_back({"no-ellipse", "less than half of the outline is seen: ovality cannot be told"});
    return;
  }
  if (data.used.size() < 6 && !options.plain) return;
  const auto fit = fit_ellipse(data.used, data.sigma_mm);
  if (!fit) return;
  EllipseResult ellipse;
  ellipse.major_diameter_mm = 2 * fit->ellipse.semi_major_mm;
  ellipse.minor_diameter_mm = 2 * fit->ellipse.semi_minor_mm;
  ellipse.center = fit->ellipse.center;
  ellipse.ovality_mm = ellipse.major_diameter_mm - ellipse.minor_diameter_mm;
  ellipse.major_angle_deg = deg(fit->ellipse.major_axis_rad);
  feature.ellipse = ellipse;
}

}  // namespace rondure
