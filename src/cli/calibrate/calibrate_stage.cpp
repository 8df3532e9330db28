#include <fmt/format.h>

#include <cmath>
#include <iostream>
#include <memory>

#include "cli/calibrate/calibrate_options.hpp"
#include "cli/terminal/leading_unit.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

struct StageCommand {
  std::string file, pin, pin_roundness, output, unit = "mm";
  bool quiet = false;
};

std::string percent(double ratio, double u) {
  return fmt::format("{:+.4f} % +- {:.4f} %", 100 * ratio, 100 * u);
}

std::string stage_text(const StageCalibration& s) {
  const double diameter = s.pin_diameter_mm.value;
  const double minutes = deg(s.squareness_rad) * 60, u_minutes = deg(std::sqrt(s.covariance(2, 2))) * 60;
  std::string text = fmt::format(
      "stage from {} readings at {} orientation{} of the part, {:.0f} deg seen, scatter {:.4f} mm ({:.5f} "
      "in)\n",
      s.readings, s.orientations, s.orientations == 1 ? "" : "s", s.coverage_deg, s.rms_mm,
      s.rms_mm / kMmPerInch);
  text += "  x scale      " + percent(s.scale_x_ratio, std::sqrt(s.covariance(0, 0))) + "\n";
  text += "  y scale      " + percent(s.scale_y_ratio, std::sqrt(s.covariance(1, 1))) + "\n";
  text += fmt::format("  squareness   {:+.2f} +- {:.2f} minutes of arc\n", minutes, u_minutes);
  text += fmt::format("  uncorrected  a round part of {} reads {} oval; corrected, +- {}\n",
                      format_mm(diameter, 3), mm_and_inch(s.apparent_ovality_mm(diameter)),
                      mm_and_inch(s.u_ovality_ratio() * diameter));
  if (s.part_ovality_mm)
    text += fmt::format(
        "  the part     {:.4f} +- {:.4f} mm ({:.5f} +- {:.5f} in) oval itself{}\n", s.part_ovality_mm->value,
        s.part_ovality_mm->u, s.part_ovality_mm->value / kMmPerInch, s.part_ovality_mm->u / kMmPerInch,
        s.part_ovality_axis_deg ? fmt::format(", long axis at {:.0f} deg", *s.part_ovality_axis_deg) : "");
  else
    text += fmt::format(
        "  the pin      taken as round within {} (--pin-roundness); turn it and read again to be sure\n",
        mm_and_inch(s.pin_roundness_mm));
  if (!s.absolute)
    text +=
        "  note         no --pin: only the difference of the scales is known, sizes keep the stage's mean "
        "scale\n";
  return text + "  +- is one standard uncertainty\n";
}

int run(const StageCommand& given) {
  const LengthUnit unit = parse_unit(given.unit).value_or(LengthUnit::kMm);
  StageOptions options;
  if (!given.pin.empty()) {
    const auto size = pin_size(given.pin, unit);
    if (!size) return report_error(size.error());
    options.pin_diameter_mm = *size;
  }
  if (!given.pin_roundness.empty()) {
    const auto roundness = parse_length_mm(given.pin_roundness, unit);
    if (!roundness) return report_error(roundness.error(), "--pin-roundness");
    if (*roundness < 0)
      return report_error({ErrorCode::kBadArgument, "found " + given.pin_roundness + ", needed 0 or more"},
                          "--pin-roundness");
    options.pin_roundness_mm = *roundness;
  }
  const auto text = read_file(given.file);
  if (!text) return report_error(text.error(), given.file);
  const auto readings = parse_points(*text, unit);
  if (!readings) return report_error(readings.error(), given.file);
  auto stage = calibrate_stage(*readings, options);
  if (!stage) return report_error(stage.error(), given.file);
  if (!given.pin_roundness.empty() && stage->part_ovality_mm)
    return report_usage("--pin-roundness has no effect: the pin was turned, which shows its form");
  stage->made_from = given.file;
  stage->sha256 = sha256_hex(*text);
  stage->when = now_utc();
  if (const auto ok = write_file_atomically(given.output, to_json(*stage)); !ok)
    return report_error(ok.error(), given.output);
  if (!given.quiet)
    std::cout << leading_lengths().sentence(stage_text(*stage)) << "written: " << given.output << '\n';
  return finish_output();
}

}  // namespace

Result<StageCalibration> load_stage_calibration(const std::string& file) {
  const auto text = read_file(file, 64u << 20);
  if (!text) return text.error();
  return parse_stage_calibration(*text);
}

void add_calibrate_stage(CLI::App& calibrate, Action& action) {
  auto options = std::make_shared<StageCommand>();
  CLI::App* command = calibrate.add_subcommand(
      "stage",
      "Finds scales and squareness of a comparator stage from readings round a reference pin or ring.");
  command
      ->add_option("readings", options->file,
                   "readings x,y round the pin; '# orientation: 45' after turning it")
      ->required()
      ->type_name("READINGS.csv");
  command
      ->add_option(
          "--pin", options->pin,
          "diameter of the pin or ring, with its uncertainty if known, e.g. 10.000mm+-0.001mm; without it "
          "the part must be turned and only the difference of the scales is found")
      ->type_name("LENGTH");
  command
      ->add_option("--pin-roundness", options->pin_roundness,
                   "how far the pin may be out of round, peak to valley (default 0.001mm); not needed when "
                   "it is turned")
      ->type_name("LENGTH");
  command->add_option("-o,--output", options->output, "the calibration file")
      ->required()
      ->type_name("STAGE.json");
  command->add_option("--unit", options->unit, "unit of bare numbers: mm, in or thou")
      ->type_name("UNIT")
      ->capture_default_str()
      ->check(CLI::IsMember({"mm", "in", "thou", "um"}));
  command->add_flag("--quiet", options->quiet, "no text on standard output");
  command->footer(
      "Example: rondure calibrate stage images-demo/pin_readings.csv --pin 10.000mm -o stage.json\n"
      "The file: 16 readings round a 10 mm gauge pin, the pin turned by 45 degrees, 16 more.\n"
      "The ovality that turns with the part is the part's, the one that stays is the stage's.");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
