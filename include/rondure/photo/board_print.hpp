// A chessboard to print at true size, as SVG, with bars that show whether the printer kept the size in both
// directions.
#pragma once
#include <string>

#include "rondure/core/result.hpp"
#include "rondure/photo/board.hpp"

namespace rondure {

struct Paper {
  std::string name = "A4";
  double width_mm = 210, height_mm = 297;
};
// "a4", "a3", "letter", "tabloid"; upright. Errors: kBadArgument.
Result<Paper> paper_named(const std::string& name);

// The page is laid across when the board fits only that way. Errors: kBadArgument when it does not fit at all
// (12 mm of paper must stay white round the board, and room for the bars).
Result<std::string> board_svg(const BoardSize& board, const Paper& paper);

}  // namespace rondure
