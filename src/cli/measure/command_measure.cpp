#include <fmt/format.h>

#include <atomic>
#include <filesystem>
#include <iostream>
#include <memory>

#include "cli/terminal/command.hpp"
#include "cli/deliver/deliver_photo.hpp"
#include "cli/deliver/measure_batch.hpp"
#include "cli/measure/measure_edges.hpp"
#include "cli/measure/measure_outlines.hpp"
#include "cli/measure/measure_reference.hpp"
#include "cli/measure/measure_scan.hpp"
#include "cli/measure/measure_side.hpp"
#include "cli/measure/measure_turned.hpp"
#include "cli/measure/measure_views.hpp"
#include "cli/terminal/progress.hpp"
#include "rondure/core/parallel.hpp"
#include "rondure/photo/board_plane.hpp"
#include "rondure/photo/board_print_file.hpp"
#include "rondure/photo/calibration.hpp"
#include "rondure/photo/scale.hpp"
#include "rondure/photo/raw_picture.hpp"
#include "rondure/record/part_record.hpp"
#include "cli/terminal/text_words.hpp"
#include "cli/terminal/thermal_option.hpp"

namespace rondure::cli {
namespace {

struct MeasureOptions {
  CommonOptions common;
  std::vector<std::string> photos;
  std::string calibration, board, square, board_uncertainty, height, scale, near, form, overlay, outlines,
      csv, channel;
  std::vector<std::string> references;
  ScanOption scan;
  bool linear = false, srgb = false, raw = false, all = false;  // raw: linear since the pictures are
  int threads = 0;  // 0 = as many as the machine has
  SideWords side;
  EdgeWords edges;
  ViewsWords views;
  TurnedWords turned;
};

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
    return bad("--scan",
               "a scan has its own scale and no parallax: found --scale, --board or --height too");
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
  const bool names_nothing =
      given.photos.size() > 1 && !given.views.one_part && !given.turned.given && given.common.json.empty() && given.common.save.empty();
  return refuse_given({{"--feature", names_nothing && !given.common.feature.empty()},
                       {"--kind", names_nothing && !given.common.kind.empty()}},
                      "of several photographs is for the part record: needs --save or --json too");
}

// What the command line says, read once for all photographs.
Result<PhotoOptions> prepare(MeasureOptions& given) {
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
  return out;
}

std::string overlay_path(const MeasureOptions& given, const std::string& photo) {
  if (given.photos.size() == 1) return given.overlay;
  const std::filesystem::path wanted(given.overlay);
  return (wanted.parent_path() /
          (wanted.stem().string() + "-" + std::filesystem::path(photo).stem().string() + ".png"))
      .string();
}

// The name that the record will have, on the picture too.
void name_as_asked(PhotoMeasurement& measured, const CommonOptions& common) {
  if (common.feature.empty() || measured.features.empty()) return;
  Feature& first = measured.features.front();
  std::string& label = measured.outlines.front().label;
  if (label.starts_with(first.name)) label = common.feature + label.substr(first.name.size());
  first.name = common.feature;
}

// Nothing that is measured may be drawn over.
Result<void> check_overlay(const MeasureOptions& given) {
  if (given.overlay.empty()) return {};
  for (const std::string& photo : given.photos)
    for (const std::string& drawn : given.photos) {
      const std::string overlay = overlay_path(given, drawn);
      std::error_code none;
      if (overlay == photo || std::filesystem::equivalent(overlay, photo, none))
        return bad("--overlay", "'" + overlay + "' is a photograph to be measured; needed another file name");
    }
  return {};
}

// A camera or plane learned from raw pictures knows nothing of the tone curve of others.
Result<void> check_curve(const MeasureOptions& given, const PhotoOptions& prepared) {
  if (given.linear || !prepared.calibration) return {};
  const auto& calibration = *prepared.calibration;
  const bool linear = (calibration.camera && calibration.camera->tone.linear) || (calibration.plane && calibration.plane->tone.linear);
  if (!linear || std::ranges::none_of(given.photos, has_tone_curve)) return {};
  return Error{ErrorCode::kCalibrationMismatch, given.calibration + " is of raw pictures, which have no tone curve; needed raw "
                                                "pictures, or a calibration from pictures like these"};
}

// For the progress line: what reading a photograph and finding the board in it take of the whole (24 megapixels, 2026-11).
constexpr double kReading_share = 0.12, kBoard_share = 0.35;

// With a told scale nothing in the picture tells the tone curve; the user may.
Result<MeasuringPlane> plane_as_told(const Picture& picture, const PhotoOptions& prepared, bool srgb) {
  auto plane = plane_of_photo(picture, prepared);
  if (plane && srgb) plane->tone_known = true;
  return plane;
}

MeasuredPhoto measure_one(const std::string& file, const MeasureOptions& given, const PhotoOptions& prepared,
                          Progress& progress) {
  MeasuredPhoto out;
  const auto picture = load_picture(file, prepared.channel);
  if (!picture) return out.error = picture.error(), out;
  progress.done(kReading_share);
  const auto plane = plane_as_told(*picture, prepared, given.srgb);
  if (!plane) {
    if (!given.outlines.empty()) (void)write_corners_seen(given.outlines, *picture);
    return out.error = plane.error(), out;
  }
  if (prepared.board) progress.done(kBoard_share);
  auto measured = measure_photo(*picture, *plane, prepared);
  if (!measured) return out.error = measured.error(), out;
  out.measured = std::move(*measured);
  if (given.photos.size() == 1) name_as_asked(out.measured, given.common);
  for (Feature& feature : out.measured.features) {
    feature.source.file = file;
    feature.source.calibration = given.calibration.empty() ? plane->description : given.calibration;
  }
  if (!given.overlay.empty()) {
    std::vector<OverlayOutline> drawn = out.measured.outlines;
    for (const auto& other : out.measured.not_the_part) drawn.push_back(other.outline);
    const auto bytes = overlay_png(given.raw ? seen_on_screen(*picture) : *picture, drawn);
    out.overlay = overlay_path(given, file);
    const auto written = write_file_atomically(out.overlay, std::string(bytes.begin(), bytes.end()));
    if (!written) out.error = written.error();
  }
  if (!given.outlines.empty())
    if (const auto written = write_outlines(given.outlines, *picture, out.measured); !written)
      out.error = written.error();
  out.measured.outlines.clear();  // drawn: a thousand photographs must fit into memory
  if (given.common.json.empty() && given.common.save.empty())
    for (Feature& feature : out.measured.features) feature.profile = {};
  return out;
}

std::vector<EdgeAside> aside_of(const PhotoMeasurement& measured) {
  std::vector<EdgeAside> aside;
  for (const auto& other : measured.not_the_part) aside.push_back({other.called, other.circle});
  return aside;
}

// One photograph after the other on each core: they are independent, and a bad one does not stop the rest.
std::vector<MeasuredPhoto> measure_all(const MeasureOptions& given, const PhotoOptions& prepared) {
  std::vector<MeasuredPhoto> photos(given.photos.size());
  Progress progress(photos.size() == 1 ? "measuring the photograph"
                                       : fmt::format("measuring {} photographs", photos.size()),
                    static_cast<double>(photos.size()),
                    given.common.quiet || given.common.json == "-" || given.csv == "-");
  std::atomic<std::size_t> finished{0};
  use_cores(given.threads);
  in_parallel(static_cast<int>(photos.size()), [&](int i) {
    try {
      photos[i] = measure_one(given.photos[i], given, prepared, progress);
    } catch (const std::exception& failure) {
      photos[i].error = Error{ErrorCode::kNoAnswer, failure.what()};
    }
    photos[i].file = given.photos[i];
    progress.done_ratio(static_cast<double>(++finished) / static_cast<double>(photos.size()));
  });
  return photos;
}

SideRun side_run(const MeasureOptions& given, const PhotoOptions& prepared) {
  SideRun out;
  out.outlines = given.outlines;
  out.options.edges = prepared.edges, out.options.references = prepared.references;
  out.channel = prepared.channel;
  out.plane_of = [&prepared, srgb = given.srgb](const Picture& picture) {
    return plane_as_told(picture, prepared, srgb);
  };
  return out;
}

int run(MeasureOptions given) {
  constexpr const char* kNoPhoto = "found no photograph, needed one or more (see 'rondure measure --help')";
  if (given.turned.given) give_back_photo(given.turned, given.photos);
  if (given.photos.empty() && given.scan.resolution.empty()) return report_usage(kNoPhoto);
  const auto linear = linear_light_of(given.photos, given.linear);
  if (!linear) return report_error(linear.error());
  given.raw = *linear && !given.linear, given.linear = *linear;
  const auto prepared = prepare(given);
  if (!prepared) return report_error(prepared.error());
  if (const auto known = check_curve(given, *prepared); !known) return report_error(known.error());
  if (given.photos.empty()) return report_usage(kNoPhoto);
  if (!given.outlines.empty() && given.photos.size() > 1)
    return report_usage("--outlines takes one photograph at a time");
  if (const auto clear = check_overlay(given); !clear) return report_error(clear.error());
  if (given.side.asked)
    return run_side(given.side, given.photos, given.common, side_run(given, *prepared),
                    [&](const std::string& photo) { return given.overlay.empty() ? "" : overlay_path(given, photo); });
  if (given.turned.given) {
    use_cores(given.threads);
    return run_turned(given.turned, given.photos, given.common, *prepared, given.calibration, given.all);
  }
  if (given.views.one_part) {
    use_cores(given.threads);
    given.views.overlay = given.overlay, given.views.all = given.all;
    return run_views(given.views, given.photos, given.common, *prepared, given.calibration);
  }
  const std::vector<MeasuredPhoto> photos = measure_all(given, *prepared);
  int status = kDone;
  std::vector<Feature> features;
  for (const MeasuredPhoto& photo : photos) {
    if (photo.error) {
      const bool named = photo.error->detail.find(photo.file) != std::string::npos;
      status = report_error(*photo.error, named ? "" : photo.file);
    }
    features.insert(features.end(), photo.measured.features.begin(), photo.measured.features.end());
  }
  if (!given.csv.empty()) {
    const std::string table = csv_table(photos);
    if (given.csv == "-") {
      std::cout << table;
    } else if (const auto written = write_file_atomically(given.csv, table); !written) {
      return report_error(written.error());
    }
  }
  const bool text = !given.common.quiet && given.common.json != "-" && given.csv != "-";
  CommonOptions common = given.common;
  if (given.csv == "-") common.quiet = true;
  if (!features.empty())
    if (const int delivered =
            photos.size() > 1 ? deliver_table(features, common)
                          : deliver(features, aside_of(photos.front().measured), common, given.all);
        delivered != kDone)
      return delivered;
  if (text)
    for (const MeasuredPhoto& photo : photos)
      if (!photo.overlay.empty()) std::cout << "drawn on the photograph: " << photo.overlay << '\n';
  if (photos.size() > 1 && !given.common.quiet)
    (text ? std::cout : std::cerr) << batch_summary(photos) << '\n';
  const int written = finish_output();
  return status == kDone ? written : status;
}

}  // namespace

void add_measure(CLI::App& program, Action& action) {
  auto options = std::make_shared<MeasureOptions>();
  CLI::App* command =
      program.add_subcommand("measure", "Finds the round edges in photographs and measures each.");
  // not "required" for the parser, which may take the first photograph for the resolution of --scan
  command->add_option("photos", options->photos, "photographs: PNG, JPEG, TIFF, HEIC, AVIF, DNG or camera raw")
      ->type_name("PHOTO...");
  command
      ->add_option("--calibration", options->calibration, "camera, plane or scale file (rondure calibrate)")
      ->type_name("FILE");
  command
      ->add_option(
          "--board", options->board,
          "chessboard in this picture: inner corners, columns x rows (counted in the picture when not "
          "given); or its file (calibrate board-print)")
      ->type_name("9x6");
  command->add_option("--square", options->square, "side of the board's squares")->type_name("LENGTH");
  command
      ->add_option("--board-uncertainty", options->board_uncertainty,
                   "how well the print's size is known, one standard uncertainty (0.1% unless given)")
      ->type_name("RATIO");
  command
      ->add_option("--height", options->height,
                   "the edge lies this far above the board, towards the camera, e.g. 6mm+-0.1mm")
      ->type_name("LENGTH");
  command->add_option("--scale", options->scale, "a square-on view of known scale, e.g. 40.12px/mm+-0.02")
      ->type_name("SCALE");
  add_reference_option(*command, options->references);
  add_scan_option(*command, options->scan);
  command->add_option("--near", options->near, "only the part around this place in the picture, px")
      ->type_name("X,Y");
  command->add_flag("--linear", options->linear,
                    "the picture's values are proportional to light (no sRGB curve)");
  command->add_flag("--srgb", options->srgb,
                    "the picture's values follow the sRGB curve and nothing else, as a plain development of a raw file "
                    "does (a camera's own JPEG seldom does): edges count as placed, with --scale");
  command->add_option("--channel", options->channel, "colour to measure in: luma, red, green or blue")
      ->type_name("NAME")
      ->check(CLI::IsMember({"luma", "red", "green", "blue"}));
  command
      ->add_option("--form", options->form,
                   "out-of-round of the part, peak to valley; none = perfectly round")
      ->type_name("LENGTH|none");
  command->add_option("--overlay", options->overlay, "draw what was found on the photograph")
      ->type_name("FILE.png");
  command
      ->add_option(
          "--outlines", options->outlines,
          "where the edges run in the picture, px, for a program that draws them (JSON); without a board, "
          "the places that look like its corners")
      ->type_name("FILE.json");
  command->add_option("--csv", options->csv, "one line a feature, for many photographs; - = standard output")
      ->type_name("FILE");
  add_edge_options(*command, options->edges);
  add_side_options(*command, options->side);
  add_views_options(*command, options->views);
  add_turned_option(*command, options->turned);
  add_all_option(*command, options->all);
  add_feature_options(*command, options->common);
  command->add_option("--threads", options->threads, "processor cores to use; 0 = all")
      ->type_name("N")
      ->check(CLI::Range(0, 1024));
  command->footer(
      "Examples: a part beside the chessboard, its rim 6 mm above the paper; a part on a light table, seen "
      "square-on\n"
      "  rondure measure images-demo/roller.jpg --board 9x6 --square 5mm --height 6mm --overlay found.png\n"
      "  rondure measure images-demo/drum.png --scale '38.00px/mm+-0.02'");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
