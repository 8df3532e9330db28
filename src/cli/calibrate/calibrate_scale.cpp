#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "cli/calibrate/calibrate_options.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/photo/raw_picture.hpp"
#include "rondure/photo/round_edges.hpp"
#include "rondure/photo/scale.hpp"

namespace rondure::cli {
namespace {

constexpr double kNominal_px_per_mm = 40;  // edges are found and placed at this scale, then read in px again
constexpr double kUnknownOffset_px = 0.2;  // edge offset of an ordinary exposure when one pin cannot tell it
constexpr double kLeastEdge_px =
    0.01;  // per diameter: shadows, bevel, pixel response; never better than this

struct ScaleCommand {
  std::string photo, output, unit = "mm";
  std::vector<std::string> pins;
  bool linear = false, quiet = false;
};

struct RoundReference {
  double left_px = 0;
  PinReading reading;
};

// Diameter in px with points beyond three standard deviations (dust) left out once.
Result<RoundReference> read_reference(const RoundEdge& edge) {
  std::vector<PartPoint> points;
  for (const MeasuredPoint& p : edge.points) points.push_back(p.at);
  auto fit = fit_circle(points);
  if (!fit) return fit.error();
  std::erase_if(points, [&](const PartPoint& p) {
    return std::abs((p.vec() - fit->circle.center.vec()).norm() - fit->circle.radius_mm) > 3 * fit->sigma_mm;
  });
  fit = fit_circle(points);
  if (!fit) return fit.error();
  RoundReference out;
  out.left_px = fit->circle.center.x_mm;
  out.reading.dark = edge.dark_inside;
  const double u_diameter_mm = 2 * fit->sigma_mm * std::sqrt(fit->cofactor(2, 2));
  out.reading.diameter_px = {fit->circle.diameter_mm() * kNominal_px_per_mm,
                             std::hypot(u_diameter_mm * kNominal_px_per_mm, kLeastEdge_px)};
  return out;
}

int run(const ScaleCommand& given) {
  const LengthUnit unit = parse_unit(given.unit).value_or(LengthUnit::kMm);
  std::vector<Estimate> sizes;
  for (const std::string& text : given.pins) {
    const auto size = pin_size(text, unit);
    if (!size) return report_error(size.error());
    sizes.push_back(*size);
  }
  const auto picture = load_picture(given.photo);
  if (!picture) return report_error(picture.error());
  MeasuringPlane nominal = plane_of_scale(picture->width_px, picture->height_px, kNominal_px_per_mm, 0);
  const auto linear = linear_light_of({given.photo}, given.linear);
  if (!linear) return report_error(linear.error());
  nominal.tone.linear = *linear;
  EdgeOptions options;
  options.linear_light = *linear;
  const auto edges = find_round_edges(*picture, nominal, options);
  if (!edges) return report_error(edges.error(), given.photo);
  std::vector<RoundReference> found;
  for (const RoundEdge& edge : *edges)
    if (auto reference = read_reference(edge)) found.push_back(*reference);
  std::sort(found.begin(), found.end(), [](const auto& a, const auto& b) { return a.left_px < b.left_px; });
  if (found.size() != sizes.size()) {
    std::string list;
    for (const RoundReference& r : found)
      list += fmt::format("{}{:.0f}", list.empty() ? "" : ", ", r.reading.diameter_px.value);
    return report_error({ErrorCode::kBadCalibration,
                         fmt::format("found {} round edges (diameters {} px, left to right) for {} --pin; "
                                     "needed a picture of the pins alone, one --pin for each",
                                     found.size(), list, sizes.size())},
                        given.photo);
  }
  std::vector<PinReading> readings;
  for (std::size_t i = 0; i < sizes.size(); ++i) {
    found[i].reading.diameter_mm = sizes[i];
    readings.push_back(found[i].reading);
  }
  const auto scale = scale_from_pins(readings, kUnknownOffset_px);
  if (!scale) return report_error(scale.error(), given.photo);
  Calibration calibration;
  calibration.kind = CalibrationKind::kScale;
  calibration.made_from.push_back(source_of(given.photo));
  calibration.pins_mm = sizes;
  calibration.plane = plane_of_pins(picture->width_px, picture->height_px, *scale);
  calibration.plane->tone.linear = *linear;
  calibration.make = picture->make, calibration.model = picture->model,
  calibration.orientation = picture->orientation;
  std::string text =
      fmt::format("scale from {} round reference{}\n  scale        {:.4f} +- {:.4f} px/mm\n", sizes.size(),
                  sizes.size() == 1 ? "" : "s", scale->px_per_mm.value, scale->px_per_mm.u);
  if (scale->offset_known)
    text += fmt::format(
        "  edge offset  {:+.3f} +- {:.3f} px: dark things read {} by {:.4f} mm on the diameter, corrected\n",
        scale->edge_offset_px.value, scale->edge_offset_px.u,
        scale->edge_offset_px.value > 0 ? "small" : "large",
        2 * std::abs(scale->edge_offset_px.value) / scale->px_per_mm.value);
  else
    text += fmt::format(
        "  edge offset  not known ({:.2f} px in the uncertainty); a second pin of another size gives it\n",
        kUnknownOffset_px);
  for (std::size_t i = 0; i < sizes.size(); ++i)
    text += fmt::format("  {:<11}  reads {:+.4f} mm off\n", mm_and_inch(sizes[i].value, 3),
                        scale->residual_mm[i]);
  return deliver_calibration(std::move(calibration), text + "  +- is one standard uncertainty\n",
                             given.output, given.quiet);
}

}  // namespace

void add_calibrate_scale(CLI::App& calibrate, Action& action) {
  auto options = std::make_shared<ScaleCommand>();
  CLI::App* command = calibrate.add_subcommand(
      "scale", "Finds the scale of a square-on view from pins or discs of known diameter in it.");
  command
      ->add_option("photo", options->photo,
                   "photograph of the pins, square-on, at the height of the part's edge")
      ->required()
      ->type_name("PHOTO");
  command
      ->add_option("--pin", options->pins,
                   "diameter of a pin, with its uncertainty if known, e.g. 6.000mm+-0.002mm; one for each, "
                   "left to right; two of "
                   "different size also give the edge offset")
      ->required()
      ->allow_extra_args(false)
      ->type_name("LENGTH");
  command->add_flag("--linear", options->linear,
                    "the picture's values are proportional to light (no sRGB curve)");
  command->add_option("-o,--output", options->output, "the calibration file")
      ->required()
      ->type_name("SCALE.json");
  add_unit_and_quiet(*command, options->unit, options->quiet);
  command->footer(
      "Example: a ring of which bore and rim are known, on a light table\n"
      "  rondure calibrate scale images-demo/drum.png --pin 7.964mm --pin 24.887mm -o scale.json");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
