#include <fmt/format.h>

#include <iostream>
#include <memory>

#include "cli/calibrate/calibrate_options.hpp"
#include "cli/terminal/leading_unit.hpp"
#include "rondure/photo/board_print.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

struct PrintCommand {
  BoardOptionTexts board;
  std::string output, paper = "a4", unit = "mm";
  bool quiet = false;
};

int run(const PrintCommand& given) {
  const auto size = board_size(given.board, parse_unit(given.unit).value_or(LengthUnit::kMm));
  if (!size) return report_error(size.error());
  const auto paper = paper_named(given.paper);
  if (!paper) return report_error(paper.error());
  const auto svg = board_svg(*size, *paper);
  if (!svg) return report_error(svg.error());
  if (const auto ok = write_file_atomically(given.output, *svg); !ok)
    return report_error(ok.error(), given.output);
  if (!given.quiet)
    std::cout << leading_lengths().sentence(fmt::format(
        "board of {} inner corners, squares of {} ({} x {} mm)\n"
        "  print at 100 %, measure both bars, and give the true square: --square {:.4g}mm times (measured / "
        "printed length)\n"
        "  glue it flat: a board bent by 0.3 mm spoils a hundredth of a millimetre\nwritten: {}\n",
        size->text(), mm_and_inch(size->square_mm, 3), (size->columns + 1) * size->square_mm,
        (size->rows + 1) * size->square_mm, size->square_mm, given.output));
  return finish_output();
}

}  // namespace

void add_calibrate_board(CLI::App& calibrate, Action& action) {
  auto options = std::make_shared<PrintCommand>();
  CLI::App* command = calibrate.add_subcommand("board", "Draws a chessboard to print at true size (SVG).");
  add_board_options(*command, options->board);
  command->add_option("--paper", options->paper, "a4, a3, letter or tabloid")
      ->type_name("PAPER")
      ->capture_default_str();
  command->add_option("-o,--output", options->output, "the drawing")->required()->type_name("BOARD.svg");
  add_unit_and_quiet(*command, options->unit, options->quiet);
  command->footer("Example:\n  rondure calibrate board --board 9x6 --square 5mm -o board.svg");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
