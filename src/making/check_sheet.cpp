#include "rondure/making/check_sheet.hpp"

#include <fmt/format.h>

#include <string_view>

#include "csv_table.hpp"
#include "rondure/core/quoting.hpp"
#include "rondure/core/shown.hpp"

namespace rondure::plan {
namespace {

constexpr double kGoodEnough = 4;  // tolerance zone over U = 2 u: four to one is common practice, no source

bool lists(std::string_view kinds, std::string_view kind) {
  for (std::size_t at = 0; at <= kinds.size();) {
    auto end = kinds.find('|', at);
    if (end == std::string_view::npos) end = kinds.size();
    if (kinds.substr(at, end - at) == kind) return true;
    at = end + 1;
  }
  return false;
}

}  // namespace

std::optional<Instrument> choose_instrument(FeatureKind kind, double size_mm, double zone_mm) {
  const CsvTable& table = CsvTable::builtin("instruments.csv");
  std::optional<Instrument> coarsest, finest;
  for (std::size_t i = 0; i < table.rows(); ++i) {
    if (!lists(table.text(i, "kinds"), kind.word())) continue;
    if (size_mm < table.number(i, "over_mm") || size_mm > table.number(i, "upto_mm")) continue;
    const Instrument one{std::string(table.text(i, "name")), table.number(i, "u_mm"),
                         zone_mm >= kGoodEnough * 2 * table.number(i, "u_mm") * (1 - 1e-9)};
    if (!finest || one.u_mm < finest->u_mm) finest = one;
    if (one.good_enough && (!coarsest || one.u_mm > coarsest->u_mm)) coarsest = one;
  }
  return coarsest ? coarsest : finest;
}

std::string check_sheet_csv(const std::vector<CheckLine>& lines, const std::string& part, LengthUnit unit) {
  std::string text = fmt::format(
      "# Check sheet: {}\n# Fill in measured and u (standard uncertainty; blank = the instrument's "
      "usual), then: rondure compare PART.json THIS.csv\n",
      part.empty() ? "replacement part" : part);
  text += "name,kind,target,lower,upper,measured,u,unit,instrument,when\n";
  for (const CheckLine& line : lines) {
    const PrintedLimits limits(line.lower_mm, line.upper_mm, line.target_mm);
    text += fmt::format("{},{},{},{},{},,,{},{},{}\n", csv_field(line.name), line.kind.word(),
                        limits.target(unit), limits.lower(unit), limits.upper(unit), symbol(unit),
                        csv_field(line.instrument), csv_field(line.when));
  }
  return text;
}

}  // namespace rondure::plan
