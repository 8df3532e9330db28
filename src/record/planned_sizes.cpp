#include "rondure/record/planned_sizes.hpp"

#include "json_text.hpp"

namespace rondure {
namespace {

using namespace record;

// Plans give arcs by radius; features are diameters.
double to_diameter(const std::string& kind) { return kind == "arc" ? 2 : 1; }

std::optional<double> times(std::optional<double> value, double factor) {
  return value ? std::optional(*value * factor) : std::nullopt;
}

void read_size(const Object& size, PlannedSizes& out) {
  const double factor = to_diameter(size.text("kind"));
  const auto target = size.number("target_mm");
  if (!target) return;
  PlannedLimits planned{*target * factor,
                        {times(size.number("lower_mm"), factor), times(size.number("upper_mm"), factor)}};
  if (planned.limits.lower_mm && planned.limits.upper_mm &&
      *planned.limits.lower_mm > *planned.limits.upper_mm)
    size.refuse("lower_mm", "the lower limit to be the smaller one");
  out.limits[size.text("name")] = planned;
}

}  // namespace

Result<PlannedSizes> planned_sizes(const PartRecord& record) try {
  PlannedSizes out;
  if (record.replacement_json.empty()) return out;
  const Json document = read_document(record.replacement_json);
  const Object plan(document, "/replacement");
  plan.each("sizes", [&](const Object& size) { read_size(size, out); });
  plan.each("check_sheet", [&](const Object& line) {
    const auto u = line.number("u_mm");
    if (u && *u > 0) out.u_mm[line.text("name")] = *u * to_diameter(line.text("kind"));
  });
  return out;
} catch (const Damage& damage) {
  return Error{ErrorCode::kFileDamaged, readable(damage.pointer) + ": " + damage.what};
} catch (const TextDamage& damage) {
  return Error{ErrorCode::kFileDamaged, "replacement, " + damage.where_and_what};
}

}  // namespace rondure
