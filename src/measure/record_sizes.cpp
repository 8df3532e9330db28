#include "rondure/measure/record_sizes.hpp"

#include <algorithm>

namespace rondure {
namespace {

constexpr double kUnstatedU_mm = 0.01;  // of a record's feature without an uncertainty: a calliper's
constexpr double kOvalBelow_p_round =
    0.05;  // an ovality that a round part would seldom show is taken as real

}  // namespace

Result<RecordSizes> sizes_from_record(const PartRecord& record) {
  RecordSizes out;
  SurfacesOnce once = surfaces_once(record, "counted");
  std::vector<SizeObservation>& sizes = out.sizes;
  std::vector<Warning>& warnings = out.warnings;
  warnings = std::move(once.notes), out.shared = std::move(once.shared);
  for (const Feature& f : once.record.features) {
    if (!f.circle || !f.kind.is_measured()) {
      warnings.push_back(
          {"feature-left-out",
           "'" + f.name + "' is left out: " +
               (!f.circle            ? "it has no size"
                : f.kind.is_stated() ? "kind '" + std::string(f.kind.word()) + "' has no drawn size"
                                     : "its kind is not stated: bore, outside or another")});
      continue;
    }
    const double share = f.kind.drawn_share();  // arcs are drawn by their radius
    SizeObservation o{f.name, f.kind, share * f.circle->diameter_mm, kUnstatedU_mm, {}, {}, 0};
    if (f.circle->u_diameter_mm && *f.circle->u_diameter_mm > 0)
      o.u_mm = share * *f.circle->u_diameter_mm;
    else
      warnings.push_back(
          {"uncertainty-assumed", "'" + f.name + "' has no uncertainty in the record: 0.01 mm is assumed"});
    if (f.kind.is_running_surface() && f.ellipse && f.verdict == OutlineForm::kOval &&
        f.ellipse->p_round.value_or(0) < kOvalBelow_p_round && f.ellipse->ovality_mm > 0) {
      o.ovality_mm = f.ellipse->ovality_mm;
      o.u_ovality_mm = f.ellipse->u_ovality_mm.value_or(2 * o.u_mm);
    }
    sizes.push_back(o);
  }
  if (sizes.empty())
    return Error{ErrorCode::kNoAnswer,
                 "found no feature with a size in the record (measure or fit with --save first)"};
  return out;
}

Result<void> call_as_asked(RecordSizes& sizes, const std::vector<std::string>& asked, bool from_above) {
  for (const SharedSurface& s : sizes.shared) {
    const bool by_name = std::ranges::find(asked, s.name) != asked.end();
    const bool by_other = std::ranges::find(asked, s.other) != asked.end();
    if (by_name && by_other)
      return Error{ErrorCode::kBadArgument, "found both '" + s.name + "' and '" + s.other +
                                                "', which are one surface; needed one of the two names"};
    if (!by_other && (by_name || !from_above)) continue;
    for (SizeObservation& o : sizes.sizes)
      if (o.name == s.name) o.name = s.other;
  }
  return {};
}

}  // namespace rondure
