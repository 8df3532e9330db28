#include "cli/measure/measure_outlines.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "rondure/core/warning.hpp"
#include "rondure/record/part_record.hpp"

using json = nlohmann::json;

namespace rondure::cli {
namespace {

constexpr int kCellsAcross = 120;            // of the longer side: what a finger can tell
constexpr std::size_t kSidePoints = 1500;    // of a side view's outline: steps and corners are to be seen
constexpr double kFullLight_ratio = 0.994;   // of full scale, as the edge finder has it
constexpr double kClippedCell_share = 0.25;  // of a cell's pixels, to be drawn as clipped; by judgement

json px(const PixelPoint& p) { return {std::round(10 * p.x_px) / 10, std::round(10 * p.y_px) / 10}; }

json line_of(const std::vector<PixelPoint>& points, std::size_t most = 360) {
  json line = json::array();
  const std::size_t step = std::max<std::size_t>(1, points.size() / most);
  for (std::size_t i = 0; i < points.size(); i += step) line.push_back(px(points[i]));
  return line;
}

bool is_clipped(const Picture& picture, int x0, int y0, int side) {
  int clipped = 0, seen = 0;
  const double full = kFullLight_ratio * picture.full_scale();
  const int step = std::max(1, side / 8);
  for (int y = y0; y < std::min(y0 + side, picture.height_px); y += step)
    for (int x = x0; x < std::min(x0 + side, picture.width_px); x += step)
      ++seen, clipped += picture.at(x, y) >= full;
  return seen > 0 && clipped >= kClippedCell_share * seen;
}

// Cells beside an outline whose light is clipped, joined along rows.
json clipped_cells(const Picture& picture, const std::vector<OverlayOutline>& outlines) {
  const int side = std::max(1, std::max(picture.width_px, picture.height_px) / kCellsAcross);
  std::set<std::pair<int, int>> beside;  // row, column
  for (const OverlayOutline& o : outlines)
    for (const PixelPoint& p : o.outline) {
      const int column = static_cast<int>(p.x_px) / side, row = static_cast<int>(p.y_px) / side;
      for (int dy = -1; dy <= 1; ++dy)
        for (int dx = -1; dx <= 1; ++dx) beside.insert({row + dy, column + dx});
    }
  json cells = json::array();
  for (const auto& [row, column] : beside) {
    if (row < 0 || column < 0 || !is_clipped(picture, column * side, row * side, side)) continue;
    const int x = column * side, y = row * side;
    if (!cells.empty() && cells.back()[1] == y &&
        cells.back()[0].get<int>() + cells.back()[2].get<int>() == x)
      cells.back()[2] = cells.back()[2].get<int>() + side;
    else
      cells.push_back({x, y, side, side});
  }
  return cells;
}

Result<void> write(const std::string& file, const Picture& picture, json all) {
  all["width_px"] = picture.width_px, all["height_px"] = picture.height_px;
  return write_file_atomically(file, all.dump(-1, ' ', false, json::error_handler_t::replace) + "\n");
}

}  // namespace

Result<void> write_outlines(const std::string& file, const Picture& picture,
                            const PhotoMeasurement& measured) {
  json all{{"edges", json::array()}, {"not_the_part", json::array()}};
  bool clipped = false;
  for (std::size_t i = 0; i < measured.features.size() && i < measured.outlines.size(); ++i) {
    const Feature& feature = measured.features[i];
    json left_out = json::array();
    for (const auto& stretch : measured.outlines[i].left_out) left_out.push_back(line_of(stretch));
    all["edges"].push_back({{"name", feature.name},
                            {"found_as", i < measured.found_as.size() ? measured.found_as[i] : feature.name},
                            {"outline_px", line_of(measured.outlines[i].outline)},
                            {"left_out_px", left_out}});
    clipped = clipped || std::ranges::any_of(feature.warnings, [](const Warning& w) {
                return w.code == WarningCode::kClippedLight;
              });
  }
  for (const auto& other : measured.not_the_part)
    all["not_the_part"].push_back({{"called", other.called},
                                   {"found_as", other.found_as},
                                   {"outline_px", line_of(other.outline.outline)}});
  all["clipped_px"] = clipped ? clipped_cells(picture, measured.outlines) : json::array();
  return write(file, picture, std::move(all));
}

Result<void> write_side_outline(const std::string& file, const Picture& picture, const SideOutline& outline) {
  std::vector<PixelPoint> line;
  for (const SideOutlinePoint& p : outline.points) line.push_back(p.pixel);
  const json edge{{"name", "outline"},
                  {"found_as", "outline"},
                  {"outline_px", line_of(line, kSidePoints)},
                  {"left_out_px", json::array()}};
  return write(file, picture,
               {{"edges", {edge}}, {"not_the_part", json::array()}, {"clipped_px", json::array()}});
}

Result<void> write_corners_seen(const std::string& file, const Picture& picture) {
  json corners = json::array();
  for (const PixelPoint& p : corner_like_places(picture)) corners.push_back(px(p));
  return write(file, picture, {{"edges", json::array()}, {"corners_px", corners}});
}

}  // namespace rondure::cli
