// --temperature and --material: sizes brought to 20 degrees C (ISO 1), with what is not known of it in the
// budget.
#pragma once
#include "cli/terminal/command.hpp"
#include "rondure/interpret/outline.hpp"

namespace rondure::cli {

// Expansion: the material's row of material_properties.csv, its range taken as a rectangular distribution
// (GUM 4.3.7). The temperature is taken as known to OutlineOptions::u_temperature_c. Nothing happens without
// --temperature. Errors: kBadArgument (no such temperature, or no material or an unknown one beside it).
Result<void> read_temperature(const CommonOptions& given, OutlineOptions& outline);

}  // namespace rondure::cli
