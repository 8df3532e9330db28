// What the photo side of `calibrate` shares: the board's options, and a calibration leaving for its file.
#pragma once
#include <string>

#include "cli/terminal/command.hpp"
#include "rondure/photo/board.hpp"
#include "rondure/photo/calibration.hpp"

namespace rondure::cli {

struct BoardOptionTexts {
  std::string board, square;
};
enum class BoardCount { kTold, kIfNotTold };
void add_board_options(CLI::App& command, BoardOptionTexts& texts, BoardCount count = BoardCount::kTold);
// No columns and rows: they are to be counted (board_size_as_seen).
Result<BoardSize> board_size(const BoardOptionTexts& texts, LengthUnit bare);

void add_unit_and_quiet(CLI::App& command, std::string& unit, bool& quiet);
// --pin: the diameter of a reference; where no uncertainty is given, the rounding of its last digit.
Result<Estimate> pin_size(const std::string& text, LengthUnit unit);
// File and sha256 of a picture a calibration is made from.
CalibrationSource source_of(const std::string& file);
// Prints text and warnings (unless quiet), writes the file; the exit status.
int deliver_calibration(Calibration calibration, const std::string& text, const std::string& output,
                        bool quiet);

}  // namespace rondure::cli
