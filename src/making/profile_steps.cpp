// The steps of a part from a file.
#include <cmath>

#include "csv_table.hpp"
#include "rondure/making/inertia.hpp"

namespace rondure::plan {
namespace {

Error bad_line(int line, const std::string& detail) {
  return {ErrorCode::kBadLine, "steps, line " + std::to_string(line) + ": " + detail};
}

Result<ProfileStep> read_step(const CsvTable& table, std::size_t row, LengthUnit bare) {
  const int line = table.line(row);
  LengthUnit unit = bare;
  if (const auto text = table.text(row, "unit"); !text.empty()) {
    const auto parsed = parse_unit(text);
    if (!parsed) return bad_line(line, parsed.error().detail);
    unit = *parsed;
  }
  ProfileStep step{std::string(table.text(row, "name")), 0, 0, {}, {}, -1};
  const auto take = [&](std::string_view column, auto& into, double least) -> Result<void> {
    const auto text = table.text(row, column);
    if (text.empty()) return {};
    const auto mm = parse_length_mm(text, unit);
    if (!mm || !(*mm >= least))
      return bad_line(line,
                      "found the " + std::string(column) + " '" + std::string(text) + "', needed a length");
    into = *mm;
    return {};
  };
  constexpr double kLeast_mm = 1e-3;  // nothing is made shorter: a slip of the point
  if (const auto ok = take("length", step.length_mm, kLeast_mm); !ok) return ok.error();
  if (const auto ok = take("outside", step.outside_mm, kLeast_mm); !ok) return ok.error();
  if (const auto ok = take("end_outside", step.end_outside_mm, kLeast_mm); !ok) return ok.error();
  if (const auto ok = take("crown_radius", step.crown_radius_mm, kLeast_mm); !ok) return ok.error();
  if (const auto ok = take("bore", step.bore_mm, 0); !ok) return ok.error();
  if (step.length_mm <= 0) return bad_line(line, "needed a length");
  if (step.name.empty() && step.outside_mm <= 0)
    return bad_line(line, "needed a name of the record or an outside diameter");
  return step;
}

}  // namespace

Result<Profile> parse_steps(std::string_view csv, LengthUnit bare) {
  const CsvTable table(csv);
  if (!table.has("length"))
    return Error{ErrorCode::kBadLine,
                 "steps: needed a header line name,length,outside,end_outside,crown_radius,bore,unit"};
  Profile profile;
  for (std::size_t i = 0; i < table.rows(); ++i) {
    auto step = read_step(table, i, bare);
    if (!step) return step.error();
    profile.push_back(std::move(*step));
  }
  if (profile.empty()) return Error{ErrorCode::kBadLine, "steps: found none, needed one or more"};
  return profile;
}

}  // namespace rondure::plan
