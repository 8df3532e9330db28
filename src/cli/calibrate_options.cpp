#include "calibrate_options.hpp"

#include <iostream>

#include "paint.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {

void add_board_options(CLI::App& command, BoardOptionTexts& texts, bool required) {
  command.add_option("--board", texts.board, "the chessboard's inner corners, columns x rows, like 9x6")
      ->required(required)
      ->type_name("NxM");
  command.add_option("--square", texts.square, "side of one square, measured on the print, e.g. 5.00mm")
      ->required(required)
      ->type_name("LENGTH");
}

Result<BoardSize> board_size(const BoardOptionTexts& texts, LengthUnit bare) {
  const auto square = parse_length_mm(texts.square, bare);
  if (!square) return Error{square.error().code, "--square: " + square.error().detail};
  return parse_board_size(texts.board, *square);
}

void add_unit_and_quiet(CLI::App& command, std::string& unit, bool& quiet) {
  command.add_option("--unit", unit, "unit of bare numbers: mm, in or thou")
      ->type_name("UNIT")
      ->capture_default_str()
      ->check(CLI::IsMember({"mm", "in", "thou", "um"}));
  command.add_flag("--quiet", quiet, "no text on standard output");
}

CalibrationSource source_of(const std::string& file) { return {file, sha256_of_file(file).value_or("")}; }

int deliver_calibration(Calibration calibration, const std::string& text, const std::string& output,
                        bool quiet) {
  calibration.when = now_utc();
  if (const auto ok = write_file_atomically(output, to_json(calibration)); !ok)
    return report_error(ok.error(), output);
  if (!quiet) {
    std::cout << text;
    for (const Warning& warning : calibration.warnings)
      std::cout << "  " << terminal_ink()(Says::kDoubtful, "warning:") << ' ' << warning.text << '\n';
    std::cout << "written: " << output << '\n';
  }
  return finish_output();
}

}  // namespace rondure::cli
