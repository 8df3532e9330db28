// A board as it was printed, on disk: the true side of its squares and how well it is known. The envelope of
// calibrations (calibration.hpp), kind "board-print":
//
//   {"format":"rondure-calibration","version":1,"kind":"board-print","made_from":[..],"when":..,
//    "board":{"columns":9,"rows":6,"square_mm":5.0105,"u_square_ratio":0.0002}}
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "rondure/photo/board.hpp"
#include "rondure/photo/calibration.hpp"

namespace rondure {

struct BoardPrint {
  BoardSize board;
  double u_square_ratio = 0;  // relative standard uncertainty of the squares
  std::vector<CalibrationSource> made_from;
  std::string when;  // ISO 8601, UTC
};

std::string to_json(const BoardPrint& print);  // ends with a newline
// Errors: kFileDamaged, kBadCalibration (another kind).
Result<BoardPrint> parse_board_print(const std::string& json_text);
// Errors: also kFileMissing, kFileUnreadable.
Result<BoardPrint> load_board_print(const std::filesystem::path& file);

}  // namespace rondure
