#include "cli/terminal/thermal_option.hpp"

#include <cmath>

#include "rondure/core/csv_table.hpp"
#include "rondure/making/material.hpp"

namespace rondure::cli {

Result<void> read_temperature(const CommonOptions& given, OutlineOptions& outline) {
  if (given.temperature.empty()) return {};
  const auto temperature_c = parse_temperature_c(given.temperature);
  if (!temperature_c)
    return Error{temperature_c.error().code, "--temperature: " + temperature_c.error().detail};
  if (!(*temperature_c > -40 && *temperature_c < 150))
    return Error{ErrorCode::kBadArgument,
                 "--temperature: found " + given.temperature + ", needed -40C to 150C"};
  if (given.material.empty())
    return Error{ErrorCode::kBadArgument,
                 "--temperature: needs the part's material too, such as --material POM-C"};
  const auto material = plan::find_material(given.material);
  if (!material) return Error{material.error().code, "--material: " + material.error().detail};
  outline.temperature_c = *temperature_c;
  outline.expansion_per_k = material->expansion_per_k;
  const CsvTable& table = CsvTable::builtin("material_properties.csv");
  if (const auto row = table.find("material", material->name)) {
    const auto lo = table.number(*row, "cte_lo"), hi = table.number(*row, "cte_hi");
    if (lo && hi) outline.u_expansion_per_k = (*hi - *lo) * 1e-6 / std::sqrt(12.0);
  }
  return {};
}

}  // namespace rondure::cli
