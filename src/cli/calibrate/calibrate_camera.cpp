#include <fmt/format.h>

#include <cmath>
#include <iostream>
#include <memory>

#include "cli/calibrate/calibrate_options.hpp"
#include "cli/terminal/progress.hpp"
#include "rondure/measure/measure_photo.hpp"
#include "rondure/photo/camera.hpp"
#include "rondure/photo/raw_picture.hpp"

namespace rondure::cli {
namespace {

struct CameraCommand {
  std::vector<std::string> views;
  BoardOptionTexts board;
  std::string output, unit = "mm";
  bool linear = false, quiet = false;
  int threads = 0;
};

std::string camera_text(const CameraResult& result) {
  const CameraCalibration& camera = result.camera;
  const auto u = [&](int i) { return std::sqrt(camera.covariance(i, i)); };
  int used = 0;
  for (const ViewResult& v : result.views) used += v.used;
  std::string text = fmt::format("camera from {} of {} views, {} x {} px\n", used, result.views.size(),
                                 camera.width_px, camera.height_px);
  text += fmt::format("  focal length  {:.2f} +- {:.2f} px\n", camera.lens.focal_x_px, u(0));
  text += fmt::format("  centre        {:.2f} +- {:.2f}, {:.2f} +- {:.2f} px\n", camera.lens.center_x_px,
                      u(2), camera.lens.center_y_px, u(3));
  static constexpr const char* kNames[] = {"k1", "k2", "p1", "p2", "k3"};
  text += "  distortion   ";
  for (int i = 0; i < 5; ++i)
    if (camera.lens.distortion[static_cast<std::size_t>(i)] != 0)
      text += fmt::format(" {} {:.5f} +- {:.5f}", kNames[i],
                          camera.lens.distortion[static_cast<std::size_t>(i)], u(4 + i));
  text +=
      fmt::format("\n  residual      {:.4f} px rms over {} edge places, {:.1f} times what noise explains\n",
                  result.rms_px, result.observations, result.chi);
  if (camera.ink_mm)
    text += fmt::format(
        "  ink           black printed {:+.4f} +- {:.4f} mm outwards; tone curve learned (gamma {:+.3f} on "
        "sRGB)\n",
        camera.ink_mm->value, camera.ink_mm->u, camera.tone.gamma_shift);
  else if (!camera.tone.linear)
    text +=
        "  ink           not told apart from the tone curve (needs views at distances of 1 : 1.5 or more); "
        "sRGB taken\n";
  text += "  view                      residual px  tilt deg  px/mm  blur px  sides\n";
  for (const ViewResult& v : result.views) {
    const std::string file = v.name.size() > 24 ? "..." + v.name.substr(v.name.size() - 21) : v.name;
    text += v.used ? fmt::format("  {:<24}  {:>11.4f}  {:>8.1f}  {:>5.1f}  {:>7.2f}  {}/{}\n", file, v.rms_px,
                                 v.tilt_deg, v.px_per_mm, v.blur_px, v.sides_used, v.sides)
                   : fmt::format("  {:<24}  left out\n", file);
  }
  return text + "  +- is one standard uncertainty\n";
}

// In the first view that shows all of the board.
Result<BoardSize> counted_in_first(const std::vector<CalibrationView>& views, double square_mm) {
  Result<BoardSize> size = Error{ErrorCode::kNoBoard, "no view"};
  for (const CalibrationView& view : views) {
    size = board_size_as_seen(view.picture, square_mm);
    if (size) break;
  }
  return size;
}

int run(const CameraCommand& given) {
  auto size = board_size(given.board, parse_unit(given.unit).value_or(LengthUnit::kMm));
  if (!size) return report_error(size.error());
  Progress progress(fmt::format("calibrating the camera from {} views", given.views.size()), 1, given.quiet);
  std::vector<CalibrationView> views;
  Calibration calibration;
  for (const std::string& file : given.views) {
    auto picture = load_picture(file);
    if (!picture) return report_error(picture.error());
    views.push_back({file, std::move(*picture)});
    calibration.made_from.push_back(source_of(file));
  }
  if (size->columns == 0) size = counted_in_first(views, size->square_mm);
  if (!size) return report_error(size.error());
  CameraOptions options;
  const auto linear = linear_light_of(given.views, given.linear);
  if (!linear) return report_error(linear.error());
  options.linear_light = *linear;
  options.threads = given.threads;
  options.on_progress = [&](double ratio) { progress.done_ratio(ratio); };
  const auto result = calibrate_camera(views, *size, options);
  progress.wipe();
  if (!result) return report_error(result.error());
  calibration.kind = CalibrationKind::kCamera;
  calibration.board = *size;
  calibration.camera = result->camera;
  calibration.views = result->views;
  calibration.rms_px = result->rms_px, calibration.chi = result->chi;
  calibration.warnings = result->warnings;
  return deliver_calibration(std::move(calibration), camera_text(*result), given.output, given.quiet);
}

}  // namespace

void add_calibrate_camera(CLI::App& calibrate, Action& action) {
  auto options = std::make_shared<CameraCommand>();
  CLI::App* command =
      calibrate.add_subcommand("camera", "Finds the camera and its lens from several views of a chessboard.");
  command
      ->add_option("views", options->views,
                   "photographs of the board, tilted different ways, 3 or more, better 10")
      ->required()
      ->type_name("VIEW");
  add_board_options(*command, options->board, BoardCount::kIfNotTold);
  command->add_option("-o,--output", options->output, "the calibration file")
      ->required()
      ->type_name("CAM.json");
  command->add_flag("--linear", options->linear,
                    "the pictures' values are proportional to light (no sRGB curve)");
  command->add_option("--threads", options->threads, "processor cores to use; 0 = all")
      ->type_name("N")
      ->check(CLI::Range(0, 1024));
  add_unit_and_quiet(*command, options->unit, options->quiet);
  command->footer(
      "Example: ten views at two distances or more, tilted 15 to 30 degrees, the board in every part of the "
      "picture\n"
      "  rondure calibrate camera images-demo/views/view_*.jpg --board 9x6 --square 5mm -o cam.json");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
