#include "cli/calibrate/calibrate_options.hpp"

#include <algorithm>
#include <cmath>
#include <iostream>

#include "cli/terminal/leading_unit.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {

void add_board_options(CLI::App& command, BoardOptionTexts& texts, BoardCount count) {
  const bool may_count = count == BoardCount::kIfNotTold;
  command
      .add_option("--board", texts.board,
                  std::string("the chessboard's inner corners, columns x rows, like 9x6") +
                      (may_count ? " (counted in the picture when not given)" : ""))
      ->required(!may_count)
      ->type_name("NxM");
  command.add_option("--square", texts.square, "side of one square, measured on the print, e.g. 5.00mm")
      ->required()
      ->type_name("LENGTH");
}

Result<BoardSize> board_size(const BoardOptionTexts& texts, LengthUnit bare) {
  const auto square = parse_length_mm(texts.square, bare);
  if (!square) return Error{square.error().code, "--square: " + square.error().detail};
  if (texts.board.empty()) return BoardSize{0, 0, *square};
  return parse_board_size(texts.board, *square);
}

void add_unit_and_quiet(CLI::App& command, std::string& unit, bool& quiet) {
  command.add_option("--unit", unit, "unit of bare numbers: mm, in or thou")
      ->type_name("UNIT")
      ->capture_default_str()
      ->check(CLI::IsMember({"mm", "in", "thou", "um"}));
  command.add_flag("--quiet", quiet, "no text on standard output");
}

namespace {

// Lines with columns: what stands beyond the terminal goes on under the second column.
std::string in_width(const std::string& text) {
  const std::string indent(16, ' ');
  const std::size_t width = std::max<std::size_t>(line_width(), 40);
  std::string out;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    std::string line = text.substr(begin, end - begin);
    begin = end + 1;
    while (line.size() > width) {
      const std::size_t cut = line.find_last_of(' ', width);
      if (cut == std::string::npos || cut <= indent.size()) break;
      out += line.substr(0, cut) + '\n';
      line = indent + line.substr(cut + 1);
    }
    out += line + '\n';
  }
  return out;
}

}  // namespace

CalibrationSource source_of(const std::string& file) { return {file, sha256_of_file(file).value_or("")}; }

int deliver_calibration(Calibration calibration, const std::string& text, const std::string& output,
                        bool quiet) {
  calibration.when = now_utc();
  if (const auto ok = write_file_atomically(output, to_json(calibration)); !ok)
    return report_error(ok.error(), output);
  if (!quiet) {
    const LengthWords words = leading_lengths();
    std::cout << in_width(words.sentence(text));
    for (const Warning& warning : calibration.warnings)
      std::cout << marked(wrapped("warning: " + words.sentence(warning.text), "  ", "    ", line_width()),
                          "warning:", terminal_ink(), Says::kDoubtful);
    std::cout << "written: " << output << '\n';
  }
  return finish_output();
}

Result<Estimate> pin_size(const std::string& text, LengthUnit unit) {
  auto size = parse_length_with_u_mm(text, unit);
  if (!size) return Error{size.error().code, "--pin: " + size.error().detail};
  if (!(size->value > 0))
    return Error{ErrorCode::kBadArgument, "--pin: found " + text + ", needed a diameter above 0"};
  if (size->u > 0) return size;
  const auto point = text.find_first_of(".,");
  const auto digits_end = std::min(text.find_first_not_of("+-0123456789.,"), text.size());
  const auto decimals = point < digits_end ? digits_end - point - 1 : 0;
  const auto own = parse_unit(text.substr(digits_end));
  size->u = std::pow(10.0, -static_cast<double>(decimals)) * mm_per(own.value_or(unit)) / 2 / std::sqrt(3.0);
  return size;
}

}  // namespace rondure::cli
