#include <fmt/format.h>

#include <cmath>
#include <iostream>
#include <memory>

#include "cli/calibrate/calibrate_options.hpp"
#include "cli/measure/measure_scan.hpp"
#include "cli/terminal/leading_unit.hpp"
#include "rondure/photo/raw_picture.hpp"
#include "rondure/photo/scan.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

struct ScannerCommand {
  std::vector<std::string> scans;
  std::string pin, resolution, output, unit = "mm";
  bool linear = false, quiet = false;
};

std::string text_of(const ScannerFit& fit, const Resolution& resolution) {
  const auto percent = [](const Estimate& e, double factor) {
    return fmt::format("{:+.3f} +- {:.3f} %", 100 * factor * e.value, 100 * factor * e.u);
  };
  const double mrad = 1000 * fit.axes.skew_rad.value, u_mrad = 1000 * fit.axes.skew_rad.u;
  std::string text = fmt::format(
      "scanner at {:.0f} dpi, from a round reference{}\n  scale        {} larger than stated\n"
      "  x against y  {}\n  skew         {:+.2f} +- {:.2f} mrad\n",
      resolution.x_px_per_mm * kMmPerInch, fit.turned ? " turned once" : "", percent(fit.axes.mean_ratio, 1),
      percent(fit.axes.difference_ratio, 2), mrad, u_mrad);
  text += fit.turned ? fmt::format(
                           "  the reference itself is oval by {:.4f} mm: that turned with it, so it is not "
                           "the scanner's\n",
                           fit.piece_ovality_mm)
                     : "  one scan: the reference is taken as round; scan it again, turned by a quarter "
                       "turn, to be sure\n";
  return text + "  +- is one standard uncertainty; no parallax: what lies on the glass is measured\n";
}

int run(const ScannerCommand& given) {
  const auto size = parse_length_with_u_mm(given.pin, parse_unit(given.unit).value_or(LengthUnit::kMm));
  if (!size) return report_error({size.error().code, "--pin: " + size.error().detail});
  if (!(size->value > 0) || !(size->u > 0))
    return report_usage("--pin: found '" + given.pin +
                        "', needed a diameter with its uncertainty: 25.000mm+-0.002mm");
  std::optional<Resolution> resolution;
  if (!given.resolution.empty()) {
    const auto stated = parse_resolution(given.resolution);
    if (!stated) return report_error(stated.error());
    resolution = *stated;
  }
  EdgeOptions options;
  const auto linear = linear_light_of(given.scans, given.linear);
  if (!linear) return report_error(linear.error());
  options.linear_light = *linear;
  ScannerFile file;
  std::vector<ScannedDisc> discs;
  for (const std::string& scan : given.scans) {
    const auto picture = load_picture(scan);
    if (!picture) return report_error(picture.error());
    const auto of_scan = resolution ? Result<Resolution>(*resolution) : resolution_of(*picture);
    if (!of_scan) return report_error(of_scan.error(), scan);
    if (!file.made_from.empty() && std::abs(of_scan->x_px_per_mm / file.resolution.x_px_per_mm - 1) > 1e-3)
      return report_error({ErrorCode::kCalibrationMismatch, "it has another resolution than the first scan"},
                          scan);
    file.resolution = *of_scan;
    const auto disc = read_scanned_disc(*picture, *of_scan, size->value, options);
    if (!disc) return report_error(disc.error(), scan);
    discs.push_back(*disc);
    file.made_from.push_back(source_of(scan));
  }
  const auto fit = scanner_from_discs(*size, discs);
  if (!fit) return report_error(fit.error());
  file.axes = fit->axes, file.reference = fit->reference;
  file.when = now_utc();
  if (const auto ok = write_file_atomically(given.output, to_json(file)); !ok)
    return report_error(ok.error(), given.output);
  if (!given.quiet)
    std::cout << leading_lengths().sentence(text_of(*fit, file.resolution)) << "written: " << given.output
              << '\n';
  return finish_output();
}

}  // namespace

void add_calibrate_scanner(CLI::App& calibrate, Action& action) {
  auto options = std::make_shared<ScannerCommand>();
  CLI::App* command = calibrate.add_subcommand(
      "scanner", "Finds the scales of a flatbed scanner's two axes from a round reference scanned twice.");
  command
      ->add_option("scans", options->scans,
                   "one scan of the reference, or two: between them the piece is turned by a quarter turn")
      ->required()
      ->expected(1, 2)
      ->type_name("SCAN...");
  command
      ->add_option("--pin", options->pin,
                   "diameter of the reference with its uncertainty, e.g. 25.000mm+-0.002mm")
      ->required()
      ->type_name("LENGTH");
  command
      ->add_option("--scan", options->resolution,
                   "the scans' resolution, where their files do not say it: 600dpi")
      ->type_name("RESOLUTION");
  command->add_flag("--linear", options->linear,
                    "the picture's values are proportional to light (no sRGB curve)");
  command->add_option("-o,--output", options->output, "the scanner's file")
      ->required()
      ->type_name("SCANNER.json");
  add_unit_and_quiet(*command, options->unit, options->quiet);
  command->footer(
      "Example: a gauge ring, turned by a quarter turn between two scans at 600 dpi\n"
      "  rondure calibrate scanner images-demo/scan_ring_1.png images-demo/scan_ring_2.png --pin "
      "20.000mm+-0.002mm "
      "-o scanner.json");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
