// The check sheet of a plan (CSV, as 'plan --check-sheet' writes it) while it is filled in: figures in, rows out.
// Verdicts are not made here: 'compare' has them.
#pragma once
#include <string>

#include "rondure/core/result.hpp"

namespace rondure::cli {

// The text with the figure of one row filled in; an empty figure takes it out. A decimal comma becomes a point.
// `unit`: of the figures, where it is not that of the row. Errors: kBadArgument (no such row, no number).
Result<std::string> with_figure(const std::string& sheet, const std::string& row, const std::string& measured,
                                const std::string& u, const std::string& unit = {});
bool has_figures(const std::string& sheet);
// The rows as JSON: [{"name":..,"kind":..,"target":..,"lower":..,"upper":..,"measured":..,"u":..,"unit":..,
// "instrument":..,"when":..}].
std::string rows_json(const std::string& sheet);

}  // namespace rondure::cli
