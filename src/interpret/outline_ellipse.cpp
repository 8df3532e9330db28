#include <cmath>

#include "outline_parts.hpp"
#include "rondure/fit/ellipse_fit.hpp"
#include "rondure/fit/ovality.hpp"

namespace rondure {

// Ovality in the record is that of diameters: 2 D.
std::optional<OvalityEstimate> add_ellipse(Feature& feature, const OutlineData& data,
                                           const OutlineOptions& options) {
  if (!options.plain && rad(feature.points.coverage_deg) < kLeastArcForOvality_rad) {
    feature.warnings.push_back(
        {"no-ellipse",
         "less than half of the outline is seen: its ovality cannot be found, the circle is kept"});
    return std::nullopt;
  }
  const auto fit = fit_ellipse(data.used, data.sigma_mm);
  if (!fit) {
    if (data.used.size() >= 6)
      feature.warnings.push_back({"no-ellipse", "no ellipse fits these points: the circle is kept"});
    return std::nullopt;
  }
  EllipseResult ellipse;
  ellipse.major_diameter_mm = 2 * fit->ellipse.semi_major_mm;
  ellipse.minor_diameter_mm = 2 * fit->ellipse.semi_minor_mm;
  ellipse.center = fit->ellipse.center;
  const auto ovality =
      estimate_ovality(data.used, data.sigma_mm, *fit, radius_options(options, data.sigma_mm));
  if (ovality) {
    ellipse.ovality_mm = 2 * ovality->ovality_mm;
    ellipse.u_ovality_mm = 2 * ovality->u_ovality_mm;
    ellipse.ovality95_mm = Interval{2 * ovality->ovality95_mm.lo, 2 * ovality->ovality95_mm.hi};
    ellipse.p_round = ovality->p_round;
    // The axes of the part, not of its noise: they differ by the ovality.
    const double mean_mm = (ellipse.major_diameter_mm + ellipse.minor_diameter_mm) / 2;
    ellipse.major_diameter_mm = mean_mm + ellipse.ovality_mm / 2;
    ellipse.minor_diameter_mm = mean_mm - ellipse.ovality_mm / 2;
    if (ovality->p_round < 0.05) ellipse.major_angle_deg = deg(fit->ellipse.major_axis_rad);
  } else if (options.plain) {
    ellipse.ovality_mm = ellipse.major_diameter_mm - ellipse.minor_diameter_mm;
  } else {
    return std::nullopt;
  }
  feature.ellipse = ellipse;
  return ovality ? std::optional(*ovality) : std::nullopt;
}

}  // namespace rondure
