// Which radius on the shelf is near enough: the profile error that each tool leaves over the width of the
// arc, against what the measurement of the radius can tell.
//
// A tool of radius r in place of the wanted R, touching in the middle of the width w, is off at the edges by
// the difference of the sagittas, s(r) - s(R), about (w^2/8)(1/r - 1/R) (derived). Set half of it deeper, the
// worst error is half as large. An arbor wrapped in paper or cloth works at its radius plus the sheet's
// thickness. Lengths mm.
#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"

namespace rondure::plan {

enum class ToolKind { kCutter, kWheel, kGauge, kArbor, kPaper, kCloth };

struct ShelfTool {
  std::string name;
  ToolKind kind = ToolKind::kCutter;
  double radius_mm = 0;     // 0 for paper and cloth
  double thickness_mm = 0;  // of paper or cloth
};

// CSV with a header: name,kind and radius or diameter or thickness, unit. Example:
//   name,kind,radius,diameter,thickness,unit
//   ball cutter 25,cutter,,25,,mm
//   wet paper 600,paper,,,0.15,mm
// Errors: kBadLine (which line, what was found).
Result<std::vector<ShelfTool>> parse_tools(std::string_view csv, LengthUnit bare = LengthUnit::kMm);

struct WantedRadius {
  std::string name;
  Estimate radius_mm;   // standard uncertainty of the measuring; 0 = taken as exact
  double width_mm = 0;  // of the arc, as a chord
};

struct ToolChoice {
  std::string tool;          // "arbor 25 with wet paper 600"
  double radius_mm = 0;      // at which it works
  double edge_error_mm = 0;  // tool touching in the middle; + = cuts deeper at the edges than wanted
  double best_error_mm = 0;  // worst error when set half way
  bool within_measurement =
      false;                    // |edge error| <= 2 u of the edge depth that the measured radius itself gives
  bool abrasive_sheet = false;  // an arbor wrapped in paper or cloth: it makes dust
};

struct ToolRanking {
  WantedRadius wanted;
  double measurement_can_tell_mm = 0;  // 2 u of the depth at the edges, from u of the radius
  std::vector<ToolChoice> choices;     // best first; tools too small for the width are left out
  std::vector<std::string> too_small;
};
// Every tool alone, and every arbor with one layer of every paper and cloth.
// Errors: kBadArgument (width over twice the radius, no tools).
Result<ToolRanking> rank_tools(const WantedRadius& wanted, const std::vector<ShelfTool>& shelf);

}  // namespace rondure::plan
