#include "rondure/making/form_tool.hpp"

#include <cmath>
#include <cstdio>

#include "rondure/making/crown.hpp"

namespace rondure::plan {
namespace {
constexpr int kProfilePoints = 21;  // of the tool's edge; odd, so that one is its middle

template <class... Args>
Error bad_tool(const char* pattern, Args... args) {
  char buffer[200];
  std::snprintf(buffer, sizeof buffer, pattern, args...);
  return {ErrorCode::kBadArgument, buffer};
}
}  // namespace

Result<FormTool> correct_form_tool(FormToolCase which, double wanted_radius_mm, double width_mm,
                                   double clearance_deg, double rake_deg) {
  if (!(clearance_deg >= 0 && clearance_deg <= 40 && rake_deg >= -20 && rake_deg <= 40 &&
        clearance_deg + rake_deg < 80))
    return bad_tool("found clearance %.4g and rake %.4g degrees, needed 0 to 40 and -20 to 40", clearance_deg,
                    rake_deg);
  if (const auto fits = sagitta_mm(wanted_radius_mm, width_mm); !fits) return fits.error();
  FormTool t{which, clearance_deg, rake_deg, wanted_radius_mm, width_mm, 0, 0, 1, {}};
  const double alpha = rad(clearance_deg), gamma = rad(rake_deg);
  t.depth_factor =
      which == FormToolCase::kSection ? std::cos(alpha + gamma) / std::cos(gamma) : 1 / std::cos(gamma);
  t.ground_radius_mm =
      wanted_radius_mm / t.depth_factor;  // apex of an ellipse: depths times f, radius over f
  t.uncorrected_radius_mm = wanted_radius_mm * t.depth_factor;  // cut by a tool ground to the wanted radius
  for (int i = 0; i < kProfilePoints; ++i) {
    const double across = width_mm * (static_cast<double>(i) / (kProfilePoints - 1) - 0.5);
    const double depth = sagitta_mm(wanted_radius_mm, std::fmin(2 * std::fabs(across), width_mm)).value_or(0);
    t.profile.push_back({across, depth, depth * t.depth_factor});
  }
  return t;
}

Result<double> circular_form_tool_radius_mm(double outer_radius_mm, double offset_mm, double work_depth_mm) {
  const double reach = std::sqrt((outer_radius_mm - offset_mm) * (outer_radius_mm + offset_mm));
  if (!(outer_radius_mm > 0 && offset_mm >= 0 && std::isfinite(reach) && work_depth_mm >= 0 &&
        work_depth_mm < reach))
    return bad_tool(
        "found a circular tool of radius %.4g mm, offset %.4g mm, depth %.4g mm; needed offset and depth "
        "inside it",
        outer_radius_mm, offset_mm, work_depth_mm);
  return std::hypot(reach - work_depth_mm, offset_mm);
}

}  // namespace rondure::plan
