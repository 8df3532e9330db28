#include "rondure/making/tool_radius.hpp"

#include <algorithm>
#include <cmath>

#include "csv_table.hpp"
#include "rondure/making/crown.hpp"

namespace rondure::plan {
namespace {

Error bad_tool_line(int line, const std::string& detail) {
  return {ErrorCode::kBadLine, "tools, line " + std::to_string(line) + ": " + detail};
}

bool is_sheet(const ShelfTool& tool) {
  return tool.kind == ToolKind::kPaper || tool.kind == ToolKind::kCloth;
}

std::string sizes_found(int given) {
  return given == 0 ? "no size" : given == 1 ? "another size" : "more than one size";
}

Result<ShelfTool> read_tool(const CsvTable& table, std::size_t row, LengthUnit bare) {
  const int line = table.line(row);
  ShelfTool tool{std::string(table.text(row, "name"))};
  if (tool.name.empty()) return bad_tool_line(line, "no name");
  static constexpr std::string_view kKinds[] = {"cutter", "wheel", "gauge", "arbor", "paper", "cloth"};
  const std::string_view kind = table.text(row, "kind");
  const auto known = std::ranges::find(kKinds, kind);
  if (known == std::end(kKinds))
    return bad_tool_line(line, "found the kind '" + std::string(kind) +
                                   "', needed cutter, wheel, gauge, arbor, paper or cloth");
  tool.kind = static_cast<ToolKind>(known - std::begin(kKinds));
  LengthUnit unit = bare;
  if (const auto text = table.text(row, "unit"); !text.empty()) {
    const auto parsed = parse_unit(text);
    if (!parsed) return bad_tool_line(line, parsed.error().detail);
    unit = *parsed;
  }
  int given = 0;
  const auto take = [&](std::string_view column, double& into, double factor) -> Result<void> {
    const auto text = table.text(row, column);
    if (text.empty()) return {};
    const auto mm = parse_length_mm(text, unit);
    if (!mm || !(*mm > 0))
      return bad_tool_line(
          line, "found the " + std::string(column) + " '" + std::string(text) + "', needed a length over 0");
    into = *mm * factor;
    ++given;
    return {};
  };
  if (const auto ok = take("radius", tool.radius_mm, 1); !ok) return ok.error();
  if (const auto ok = take("diameter", tool.radius_mm, 0.5); !ok) return ok.error();
  if (const auto ok = take("thickness", tool.thickness_mm, 1); !ok) return ok.error();
  const bool complete = is_sheet(tool) ? tool.thickness_mm > 0 && tool.radius_mm == 0
                                       : tool.radius_mm > 0 && tool.thickness_mm == 0;
  if (given != 1 || !complete)
    return bad_tool_line(
        line, "found the " + std::string(kind) + " '" + tool.name + "' with " + sizes_found(given) +
                  (is_sheet(tool) ? ", needed a thickness" : ", needed a radius or a diameter"));
  return tool;
}

}  // namespace

Result<std::vector<ShelfTool>> parse_tools(std::string_view csv, LengthUnit bare) {
  const CsvTable table(csv);
  if (!table.has("name") || !table.has("kind"))
    return Error{ErrorCode::kBadLine, "tools: needed a header line name,kind,radius,diameter,thickness,unit"};
  std::vector<ShelfTool> shelf;
  for (std::size_t i = 0; i < table.rows(); ++i) {
    auto tool = read_tool(table, i, bare);
    if (!tool) return tool.error();
    shelf.push_back(std::move(*tool));
  }
  if (shelf.empty()) return Error{ErrorCode::kBadLine, "tools: found no tool, needed one or more"};
  return shelf;
}

Result<ToolRanking> rank_tools(const WantedRadius& wanted, const std::vector<ShelfTool>& shelf) {
  const auto depth = sagitta_mm(wanted.radius_mm.value, wanted.width_mm);
  if (!depth) return depth.error();
  if (!(wanted.width_mm > 0)) return Error{ErrorCode::kBadArgument, "needed the width of the arc"};
  ToolRanking ranking{wanted, 0, {}, {}};
  // ds/dR = 1 - R/sqrt(R^2 - w^2/4) = -s/(R - s)
  const double slope = *depth / (wanted.radius_mm.value - *depth);
  ranking.measurement_can_tell_mm = std::isfinite(slope) ? 2 * slope * wanted.radius_mm.u : 0;
  const auto consider = [&](std::string name, double radius_mm, bool abrasive_sheet) {
    const auto cut = sagitta_mm(radius_mm, wanted.width_mm);
    if (!cut) return ranking.too_small.push_back(std::move(name));
    const double error = *cut - *depth;
    ranking.choices.push_back({std::move(name), radius_mm, error, std::fabs(error) / 2,
                               std::fabs(error) <= ranking.measurement_can_tell_mm, abrasive_sheet});
  };
  for (const ShelfTool& tool : shelf) {
    if (is_sheet(tool)) continue;
    consider(tool.name, tool.radius_mm, false);
    if (tool.kind != ToolKind::kArbor) continue;
    for (const ShelfTool& sheet : shelf)
      if (is_sheet(sheet))
        consider(tool.name + " with " + sheet.name, tool.radius_mm + sheet.thickness_mm, true);
  }
  if (ranking.choices.empty() && ranking.too_small.empty())
    return Error{ErrorCode::kBadArgument,
                 "found paper or cloth only, needed a cutter, wheel, gauge or arbor"};
  std::stable_sort(ranking.choices.begin(), ranking.choices.end(),
                   [](const ToolChoice& a, const ToolChoice& b) {
                     return std::fabs(a.edge_error_mm) < std::fabs(b.edge_error_mm);
                   });
  return ranking;
}

}  // namespace rondure::plan
