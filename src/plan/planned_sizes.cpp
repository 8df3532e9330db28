#include "rondure/plan/planned_sizes.hpp"

#include "rondure/record/one_surface.hpp"

namespace rondure::plan {
namespace {

// Plans give arcs by radius; features are diameters.
double to_diameter(FeatureKind kind) { return 1 / kind.drawn_share(); }

std::optional<double> times(std::optional<double> value, double factor) {
  return value ? std::optional(*value * factor) : std::nullopt;
}

}  // namespace

PlannedSizes planned_sizes(const PartRecord& record) {
  PlannedSizes out;
  if (!record.replacement) return out;
  const ReplacementPlan& plan = *record.replacement;
  for (const PlannedSize& size : plan.sizes) {
    if (!(size.target_mm > 0)) continue;
    const double factor = to_diameter(size.kind);
    out.limits[size.name] = {size.target_mm * factor,
                             {times(size.lower_mm, factor), times(size.upper_mm, factor)}};
  }
  for (const CheckLine& line : plan.check_sheet)
    if (line.u_mm > 0) out.u_mm[line.name] = line.u_mm * to_diameter(line.kind);
  for (const SharedSurface& s :
       surfaces_once(record).shared) {  // a copy measured from above has the other name
    if (const auto at = out.limits.find(s.name); at != out.limits.end())
      out.limits.insert({s.other, at->second});
    if (const auto at = out.u_mm.find(s.name); at != out.u_mm.end()) out.u_mm.insert({s.other, at->second});
  }
  return out;
}

}  // namespace rondure::plan
