#include <fmt/format.h>

#include <memory>

#include "cli/calibrate/calibrate_options.hpp"
#include "rondure/measure/measure_photo.hpp"
#include "rondure/photo/board_plane.hpp"
#include "rondure/photo/raw_picture.hpp"

namespace rondure::cli {
namespace {

struct PlaneCommand {
  std::string view, camera, output, unit = "mm", board_uncertainty = "0.1%";
  BoardOptionTexts board;
  bool linear = false, quiet = false;
};

std::string plane_text(const BoardPlane& fit, const BoardSize& size) {
  std::string text = fmt::format("measuring plane from a chessboard of {} corners, {} of {} sides used\n",
                                 size.text(), fit.sides_used, fit.sides);
  text += fmt::format("  scale       {:.3f} px/mm", fit.px_per_mm);
  if (fit.tilt_deg > 0) text += fmt::format(", camera tilted by {:.1f} deg", fit.tilt_deg);
  text +=
      fmt::format("\n  residual    {:.4f} px rms, {:.1f} times what noise explains\n", fit.rms_px, fit.chi);
  text += fmt::format("  board       print known to {:.2f} %, edges grown by {:+.3f} px, blur {:.2f} px\n",
                      100 * fit.plane.u_scale_ratio, fit.growth_px, fit.blur_px);
  text += fmt::format("  lens        {}\n", fit.plane.lens ? "calibrated" : "no distortion assumed");
  const auto far = part_from_pixel(fit.plane, {fit.plane.width_px / 2.0, fit.plane.height_px / 2.0});
  if (far) {
    const double radius = 10;
    const PlaneUncertainty u = u_from_plane(fit.plane, {*far, radius});
    text += fmt::format(
        "  a 20 mm part in the middle of the picture: u of its diameter {:.4f} mm from the plane, {:.4f} mm "
        "from the print\n",
        u.u_pose_mm, u.u_scale_mm);
  }
  return text;
}

int run(const PlaneCommand& given) {
  auto size = board_size(given.board, parse_unit(given.unit).value_or(LengthUnit::kMm));
  if (!size) return report_error(size.error());
  BoardPlaneOptions options;
  const auto u_board = parse_ratio(given.board_uncertainty);
  if (!u_board || !(*u_board >= 0) || *u_board > 0.2)
    return report_usage("--board-uncertainty: found " + given.board_uncertainty + ", needed 0% to 20%");
  options.u_board_ratio = *u_board;
  const auto linear = linear_light_of({given.view}, given.linear);
  if (!linear) return report_error(linear.error());
  options.linear_light = *linear;
  std::optional<CameraCalibration> camera;
  if (!given.camera.empty()) {
    auto file = load_calibration(given.camera);
    if (!file) return report_error(file.error());
    if (!file->camera)
      return report_error({ErrorCode::kBadCalibration,
                           given.camera + " holds a " + std::string(name(file->kind)) + "; needed a camera"});
    camera = std::move(file->camera);
  }
  const auto picture = load_picture(given.view);
  if (!picture) return report_error(picture.error());
  if (size->columns == 0) size = board_size_as_seen(*picture, size->square_mm);
  if (!size) return report_error(size.error(), given.view);
  const auto fit = fit_board_plane(*picture, *size, camera, options);
  if (!fit) return report_error(fit.error(), given.view);
  Calibration calibration;
  calibration.kind = CalibrationKind::kPlane;
  calibration.board = *size;
  calibration.made_from.push_back(source_of(given.view));
  if (!given.camera.empty()) calibration.made_from.push_back(source_of(given.camera));
  calibration.plane = fit->plane;
  calibration.make = picture->make, calibration.model = picture->model,
  calibration.orientation = picture->orientation;
  calibration.rms_px = fit->rms_px, calibration.chi = fit->chi;
  calibration.warnings = fit->plane.warnings;
  return deliver_calibration(std::move(calibration), plane_text(*fit, *size), given.output, given.quiet);
}

}  // namespace

void add_calibrate_plane(CLI::App& calibrate, Action& action) {
  auto options = std::make_shared<PlaneCommand>();
  CLI::App* command =
      calibrate.add_subcommand("plane", "Finds the measuring plane from one view of a chessboard.");
  command->add_option("view", options->view, "photograph of the board lying where the part's edge will be")
      ->required()
      ->type_name("VIEW");
  command
      ->add_option("--camera", options->camera,
                   "camera file (calibrate camera); without it no lens distortion is assumed")
      ->type_name("CAM.json");
  add_board_options(*command, options->board, BoardCount::kIfNotTold);
  command
      ->add_option("--board-uncertainty", options->board_uncertainty,
                   "how well the print's size is known, one standard uncertainty")
      ->type_name("RATIO")
      ->capture_default_str();
  command->add_flag("--linear", options->linear,
                    "the picture's values are proportional to light (no sRGB curve)");
  command->add_option("-o,--output", options->output, "the calibration file")
      ->required()
      ->type_name("PLANE.json");
  add_unit_and_quiet(*command, options->unit, options->quiet);
  command->footer(
      "Example: the demo's roller lies beside the board\n"
      "  rondure calibrate plane images-demo/roller.jpg --board 9x6 --square 5mm -o plane.json");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
