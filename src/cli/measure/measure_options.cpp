#include "cli/measure/measure_options.hpp"

#include "cli/measure/measure_reference.hpp"
#include "cli/terminal/text_words.hpp"
#include "cli/terminal/thermal_option.hpp"
#include "rondure/photo/board_print_file.hpp"
#include "rondure/photo/calibration.hpp"
#include "rondure/photo/raw_picture.hpp"
#include "rondure/photo/scale.hpp"

namespace rondure::cli {
namespace {

constexpr const char* kBoardUncertainty = "0.1%";

Error bad(const std::string& option, const std::string& what) {
  return {ErrorCode::kBadArgument, option + ": " + what};
}

Result<PixelPoint> parse_pixel(const std::string& text) {
  const std::size_t comma = text.find_first_of(",;");
  if (comma != std::string::npos) {
    const auto x = parse_number(text.substr(0, comma)), y = parse_number(text.substr(comma + 1));
    if (x && y) return PixelPoint{*x, *y};
  }
  return bad("--near", "found '" + text + "', needed a place in the picture such as 1320,640 (px)");
}

// --board names a file of calibrate board-print; empty when it is no file's name.
std::optional<Result<BoardPrint>> board_print(const std::string& board) {
  if (!board.ends_with(".json")) return {};
  return load_board_print(board);
}

// A board whose size is counted in the picture.
Result<BoardSize> counted_board(double square_mm) {
  if (!(square_mm > 0)) return bad("--square", "needed more than 0");
  return BoardSize{0, 0, square_mm};
}

Result<void> read_scan(MeasureOptions& given, PhotoOptions& out) {
  if (!given.scale.empty() || !given.board.empty() || !given.height.empty())
    return bad("--scan", "a scan has its own scale and no parallax: found --scale, --board or --height too");
  auto asked = scan_asked(given.scan, given.photos, given.calibration);
  if (!asked) return asked.error();
  out.scan = std::move(*asked);
  return {};
}

Result<void> read_calibration(MeasureOptions& given, PhotoOptions& out) {
  if (given.scan.given) return read_scan(given, out);
  if (!given.scale.empty()) {
    if (!given.calibration.empty() || !given.board.empty())
      return bad("--scale", "is not needed: the calibration or the board gives the scale already");
    const auto scale = parse_scale_px_per_mm(given.scale);
    if (!scale) return scale.error();
    out.scale_px_per_mm = *scale;
    out.scale_in_dpi = given.scale.find("dpi") != std::string::npos;
    return {};
  }
  if (given.calibration.empty() && given.board.empty() && given.square.empty())
    return bad(
        "measure",
        "found no scale, needed --calibration FILE, --board 9x6 --square 5mm, --scale 40.12px/mm or --scan");
  if (!given.calibration.empty()) {
    auto calibration = load_calibration(given.calibration);
    if (!calibration)
      return Error{calibration.error().code, given.calibration + ": " + calibration.error().detail};
    out.calibration = std::move(*calibration);
  }
  if (given.board.empty() && given.square.empty()) {
    if (!out.calibration->plane)
      return bad("--calibration",
                 given.calibration +
                     " holds a camera; needed too: the board in the picture, --board 9x6 --square 5mm");
    return {};
  }
  if (const auto printed = board_print(given.board)) {
    if (!*printed) return printed->error();
    if (!given.square.empty())
      return bad("--square", "the board's file " + given.board + " gives it already");
    out.board = (**printed).board;
    out.board_options.u_board_ratio = (**printed).u_square_ratio;
    out.board_options.linear_light = given.linear;
    return {};
  }
  if (given.square.empty()) return bad("--board", "needs the size of its squares, such as --square 5mm");
  const auto square = parse_length_mm(given.square, bare_unit(given.common));
  if (!square) return Error{square.error().code, "--square: " + square.error().detail};
  const auto board = given.board.empty() ? counted_board(*square) : parse_board_size(given.board, *square);
  if (!board) return board.error();
  out.board = *board;
  const auto u_board =
      parse_ratio(given.board_uncertainty.empty() ? kBoardUncertainty : given.board_uncertainty);
  if (!u_board || !(*u_board >= 0) || *u_board > 0.2)
    return bad("--board-uncertainty", "found " + given.board_uncertainty + ", needed 0% to 20%");
  out.board_options.u_board_ratio = *u_board;
  out.board_options.linear_light = given.linear;
  return {};
}

// What would be given without any effect.
Result<void> check_effect(const MeasureOptions& given) {
  const bool counted =
      given.board.empty() && given.scale.empty() && !given.scan.given;  // of a board in the picture
  const bool print_in_question =
      counted ? !given.square.empty() : !given.board.empty() && !given.board.ends_with(".json");
  if (const auto ok =
          refuse_given({{"--board-uncertainty", !given.board_uncertainty.empty() && !print_in_question}},
                       "is for the print of a --board such as 9x6");
      !ok)
    return ok;
  if (const auto ok = refuse_given({{"--square", !given.square.empty() && given.board.empty() && !counted}},
                                   "needs --board too, such as --board 9x6");
      !ok)
    return ok;
  if (given.linear && given.srgb) return bad("--srgb", "a picture has one tone curve: found --linear too");
  if (const auto ok = refuse_given({{"--srgb", given.srgb && given.scale.empty()}},
                                   "goes with --scale: a board or a calibration tells the tone curve itself");
      !ok)
    return ok;
  if (!given.side.asked)
    if (const auto ok = refuse_given({{"--profile", !given.side.profile.empty()},
                                      {"--axis", !given.side.axis.empty()},
                                      {"--distance", !given.side.distance.empty()}},
                                     "is for a part on its side: needs --side too");
        !ok)
      return ok;
  if (given.side.asked)
    if (const auto ok = refuse_given({{"--near", !given.near.empty()},
                                      {"--form", !given.form.empty()},
                                      {"--csv", !given.csv.empty()},
                                      {"--call", !given.edges.called.empty()},
                                      {"--leave-out", !given.edges.left_out.empty()},
                                      {"--take-in", !given.edges.taken_in.empty()},
                                      {"--feature", !given.common.feature.empty()},
                                      {"--kind", !given.common.kind.empty()},
                                      {"--temperature", !given.common.temperature.empty()},
                                      {"--threads", given.threads != 0}},
                                     "has no effect with --side");
        !ok)
      return ok;
  if (given.turned.given)
    if (const auto ok = refuse_given({{"--side", given.side.asked},
                                      {"--one-part", given.views.one_part},
                                      {"--srgb", given.srgb},
                                      {"--csv", !given.csv.empty()},
                                      {"--overlay", !given.overlay.empty()},
                                      {"--outlines", !given.outlines.empty()}},
                                     "has no effect with --turned");
        !ok)
      return ok;
  if (given.views.one_part)
    if (const auto ok = refuse_given({{"--side", given.side.asked},
                                      {"--reference", !given.references.empty()},
                                      {"--scan", given.scan.given},
                                      {"--scale", !given.scale.empty()},
                                      {"--csv", !given.csv.empty()},
                                      {"--outlines", !given.outlines.empty()},
                                      {"--call", !given.edges.called.empty()},
                                      {"--leave-out", !given.edges.left_out.empty()},
                                      {"--take-in", !given.edges.taken_in.empty()}},
                                     "has no effect with --one-part");
        !ok)
      return ok;
  const bool names_nothing = given.photos.size() > 1 && !given.views.one_part && !given.turned.given &&
                             given.common.json.empty() && given.common.save.empty();
  return refuse_given({{"--feature", names_nothing && !given.common.feature.empty()},
                       {"--kind", names_nothing && !given.common.kind.empty()}},
                      "of several photographs is for the part record: needs --save or --json too");
}

// A camera or plane learned from raw pictures knows nothing of the tone curve of others.
Result<void> check_curve(const MeasureOptions& given, const PhotoOptions& prepared) {
  if (given.linear || !prepared.calibration) return {};
  const auto& calibration = *prepared.calibration;
  const bool linear = (calibration.camera && calibration.camera->tone.linear) ||
                      (calibration.plane && calibration.plane->tone.linear);
  if (!linear || std::ranges::none_of(given.photos, has_tone_curve)) return {};
  return Error{ErrorCode::kCalibrationMismatch,
               given.calibration +
                   " is of raw pictures, which have no tone curve; needed raw "
                   "pictures, or a calibration from pictures like these"};
}

}  // namespace

Result<PhotoOptions> photo_options(MeasureOptions& given) {
  const auto linear = linear_light_of(given.photos, given.linear);
  if (!linear) return linear.error();
  given.linear = *linear;
  PhotoOptions out;
  if (const auto ok = check_effect(given); !ok) return ok.error();
  if (const auto ok = read_calibration(given, out); !ok) return ok.error();
  const LengthUnit unit = bare_unit(given.common);
  if (!given.height.empty()) {
    const auto height = parse_length_with_u_mm(given.height, unit);
    if (!height) return Error{height.error().code, "--height: " + height.error().detail};
    out.height_mm = *height;
  }
  if (!given.near.empty()) {
    const auto near = parse_pixel(given.near);
    if (!near) return near.error();
    out.edges.near = *near;
  }
  out.edges.linear_light = given.linear;
  auto references = reference_pieces(given.references, unit);
  if (!references) return references.error();
  out.references = std::move(*references);
  auto choices = edge_choices(given.edges);
  if (!choices) return choices.error();
  out.choices = std::move(*choices);
  if (given.channel == "red") out.channel = PictureChannel::kRed;
  if (given.channel == "green") out.channel = PictureChannel::kGreen;
  if (given.channel == "blue") out.channel = PictureChannel::kBlue;
  if (given.form == "none") {
    out.outline.form.kind = FormAssumption::Kind::kNone;
  } else if (!given.form.empty()) {
    const auto form = parse_length_mm(given.form, unit);
    if (!form || !(*form > 0))
      return bad("--form", "found '" + given.form + "', needed a length above 0, or none");
    out.outline.form = {FormAssumption::Kind::kStated, *form};
  }
  if (const auto warm = read_temperature(given.common, out.outline); !warm) return warm.error();
  if (const auto known = check_curve(given, out); !known) return known.error();
  return out;
}

void add_measure_options(CLI::App& command, MeasureOptions& options) {
  // not "required" for the parser, which may take the first photograph for the resolution of --scan
  command.add_option("photos", options.photos, "photographs: PNG, JPEG, TIFF, HEIC, AVIF, DNG or camera raw")
      ->type_name("PHOTO...");
  command.add_option("--calibration", options.calibration, "camera, plane or scale file (rondure calibrate)")
      ->type_name("FILE");
  command
      .add_option(
          "--board", options.board,
          "chessboard in this picture: inner corners, columns x rows (counted in the picture when not "
          "given); or its file (calibrate board-print)")
      ->type_name("9x6");
  command.add_option("--square", options.square, "side of the board's squares")->type_name("LENGTH");
  command
      .add_option("--board-uncertainty", options.board_uncertainty,
                  "how well the print's size is known, one standard uncertainty (0.1% unless given)")
      ->type_name("RATIO");
  command
      .add_option("--height", options.height,
                  "the edge lies this far above the board, towards the camera, e.g. 6mm+-0.1mm")
      ->type_name("LENGTH");
  command.add_option("--scale", options.scale, "a square-on view of known scale, e.g. 40.12px/mm+-0.02")
      ->type_name("SCALE");
  add_reference_option(command, options.references);
  add_scan_option(command, options.scan);
  command.add_option("--near", options.near, "only the part around this place in the picture, px")
      ->type_name("X,Y");
  command.add_flag("--linear", options.linear,
                   "the picture's values are proportional to light (no sRGB curve)");
  command.add_flag(
      "--srgb", options.srgb,
      "the picture's values follow the sRGB curve and nothing else, as a plain development of a raw file "
      "does (a camera's own JPEG seldom does): edges count as placed, with --scale");
  command.add_option("--channel", options.channel, "colour to measure in: luma, red, green or blue")
      ->type_name("NAME")
      ->check(CLI::IsMember({"luma", "red", "green", "blue"}));
  command
      .add_option("--form", options.form, "out-of-round of the part, peak to valley; none = perfectly round")
      ->type_name("LENGTH|none");
  command.add_option("--overlay", options.overlay, "draw what was found on the photograph")
      ->type_name("FILE.png");
  command
      .add_option(
          "--outlines", options.outlines,
          "where the edges run in the picture, px, for a program that draws them (JSON); without a board, "
          "the places that look like its corners")
      ->type_name("FILE.json");
  command.add_option("--csv", options.csv, "one line a feature, for many photographs; - = standard output")
      ->type_name("FILE");
  add_edge_options(command, options.edges);
  add_side_options(command, options.side);
  add_views_options(command, options.views);
  add_turned_option(command, options.turned);
  add_all_option(command, options.all);
  add_feature_options(command, options.common);
  command.add_option("--threads", options.threads, "processor cores to use; 0 = all")
      ->type_name("N")
      ->check(CLI::Range(0, 1024));
}

}  // namespace rondure::cli
