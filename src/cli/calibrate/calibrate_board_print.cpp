#include <fmt/format.h>

#include <iostream>
#include <memory>

#include "cli/calibrate/calibrate_options.hpp"
#include "cli/measure/measure_reference.hpp"
#include "cli/terminal/leading_unit.hpp"
#include "rondure/measure/measure_photo.hpp"
#include "rondure/photo/board_plane.hpp"
#include "rondure/photo/board_print_file.hpp"
#include "rondure/photo/raw_picture.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

constexpr double kUnknownPrint_ratio =
    0.02;  // what a printer does at worst, so that the reference alone decides

struct BoardPrintCommand {
  std::string photo, camera, height, output, unit = "mm";
  BoardOptionTexts board;
  std::vector<std::string> references;
  bool linear = false, quiet = false;
};

struct Asked {
  BoardSize board;
  std::optional<CameraCalibration> camera;
  std::vector<ReferencePiece> references;
  Estimate height_mm;
};

Result<Asked> asked_for(const BoardPrintCommand& given) {
  const LengthUnit unit = parse_unit(given.unit).value_or(LengthUnit::kMm);
  Asked out;
  const auto board = board_size(given.board, unit);
  if (!board) return board.error();
  out.board = *board;
  auto references = reference_pieces(given.references, unit);
  if (!references) return references.error();
  out.references = std::move(*references);
  if (!given.height.empty()) {
    const auto height = parse_length_with_u_mm(given.height, unit);
    if (!height) return Error{height.error().code, "--height: " + height.error().detail};
    out.height_mm = *height;
  }
  if (given.camera.empty()) return out;
  auto file = load_calibration(given.camera);
  if (!file) return file.error();
  if (!file->camera)
    return Error{ErrorCode::kBadCalibration,
                 given.camera + " holds a " + std::string(name(file->kind)) + "; needed a camera"};
  out.camera = std::move(file->camera);
  return out;
}

Result<ReferenceScale> print_by_references(const Picture& picture, const Asked& asked, bool linear) {
  BoardPlaneOptions options;
  options.u_board_ratio = kUnknownPrint_ratio, options.linear_light = linear;
  auto plane = plane_from_board(picture, asked.board, asked.camera, options);
  if (plane && (asked.height_mm.value != 0 || asked.height_mm.u != 0))
    plane = at_height(*plane, asked.height_mm.value, asked.height_mm.u);
  if (!plane) return plane.error();
  EdgeOptions edges;
  edges.linear_light = linear;
  auto scale = reference_scale(picture, *plane, asked.references, edges);
  if (!scale) return scale.error();
  return **scale;
}

int run(const BoardPrintCommand& given) {
  const auto asked = asked_for(given);
  if (!asked) return report_error(asked.error());
  const auto picture = load_picture(given.photo);
  if (!picture) return report_error(picture.error());
  const auto linear = linear_light_of({given.photo}, given.linear);
  if (!linear) return report_error(linear.error());
  const auto scale = print_by_references(*picture, *asked, *linear);
  if (!scale) return report_error(scale.error(), given.photo);
  BoardPrint print;
  print.board = asked->board;
  print.board.square_mm *= 1 + scale->print_ratio().value;
  print.u_square_ratio = scale->print_ratio().u;
  print.made_from.push_back(source_of(given.photo));
  if (!given.camera.empty()) print.made_from.push_back(source_of(given.camera));
  print.when = now_utc();
  if (const auto ok = write_file_atomically(given.output, to_json(print)); !ok)
    return report_error(ok.error(), given.output);
  if (!given.quiet)
    std::cout << leading_lengths().sentence(fmt::format(
        "print of the board {}\n  {}\n  squares     {:.5f} +- {:.5f} mm instead of {:.4f} mm\n"
        "  +- is one standard uncertainty; next time: --board {}\nwritten: {}\n",
        asked->board.text(), scale->finding(true), print.board.square_mm,
        print.u_square_ratio * print.board.square_mm, asked->board.square_mm, given.output, given.output));
  return finish_output();
}

}  // namespace

void add_calibrate_board_print(CLI::App& calibrate, Action& action) {
  auto options = std::make_shared<BoardPrintCommand>();
  CLI::App* command = calibrate.add_subcommand(
      "board-print", "Finds how large a board was printed, from round pieces of known diameter beside it.");
  command->add_option("photo", options->photo, "photograph of board and pieces")
      ->required()
      ->type_name("PHOTO");
  add_board_options(*command, options->board);
  add_reference_option(*command, options->references)->required();
  command->add_option("--height", options->height, "the pieces' edges lie this far above the board")
      ->type_name("LENGTH");
  command->add_option("--calibration", options->camera, "camera file (rondure calibrate camera)")
      ->type_name("FILE");
  command->add_flag("--linear", options->linear,
                    "the picture's values are proportional to light (no sRGB curve)");
  command->add_option("-o,--output", options->output, "the board's file, for --board")
      ->required()
      ->type_name("PRINT.json");
  add_unit_and_quiet(*command, options->unit, options->quiet);
  command->footer(
      "Example: a 12 mm gauge pin, 6 mm high, beside the board\n"
      "  rondure calibrate board-print images-demo/roller_pin.jpg --board 9x6 --square 5mm "
      "--reference 12.000mm+-0.002mm@1325,209,6mm -o print.json");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
