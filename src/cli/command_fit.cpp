#include <fmt/format.h>

#include <iostream>
#include <iterator>

#include "command.hpp"
#include "rondure/measure/measure_readings.hpp"
#include "rondure/interpret/outline.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/record/part_record.hpp"
#include "thermal_option.hpp"

namespace rondure::cli {
namespace {

struct FitOptions {
  CommonOptions common;
  std::string file, calibration, sigma, form;
  bool plain = false;
};

Result<std::string> text_of(const std::string& file) {
  if (file != "-") return read_file(file);
  return std::string(std::istreambuf_iterator<char>(std::cin), {});
}

Result<void> read_options(const FitOptions& given, OutlineOptions& outline) {
  const LengthUnit unit = bare_unit(given.common);
  outline.plain = given.plain;
  if (!given.sigma.empty()) {
    const auto sigma = parse_length_mm(given.sigma, unit);
    if (!sigma) return Error{sigma.error().code, "--sigma: " + sigma.error().detail};
    if (!(*sigma > 0))
      return Error{ErrorCode::kBadArgument, "--sigma: found " + given.sigma + ", needed more than 0"};
    outline.sigma_mm = *sigma;
  }
  if (given.form == "none") {
    outline.form.kind = FormAssumption::Kind::kNone;
  } else if (!given.form.empty()) {
    const auto form = parse_length_mm(given.form, unit);
    if (!form) return Error{form.error().code, "--form: " + form.error().detail + ", or none"};
    if (!(*form > 0))
      return Error{ErrorCode::kBadArgument, "--form: found " + given.form + ", needed more than 0, or none"};
    outline.form = {FormAssumption::Kind::kStated, *form};
  }
  return read_temperature(given.common, outline);
}

int run(const FitOptions& given) {
  ReadingsOptions options;
  options.bare = bare_unit(given.common);
  if (const auto ok = read_options(given, options.outline); !ok) return report_error(ok.error());
  const auto text = text_of(given.file);
  if (!text) return report_error(text.error(), given.file);
  if (!given.calibration.empty()) {
    auto loaded = load_stage_calibration(given.calibration);
    if (!loaded) return report_error(loaded.error(), given.calibration);
    options.stage = std::move(*loaded);
  }
  auto feature = measure_readings(*text, options);
  if (!feature) return report_error(feature.error(), given.file);
  if (given.file != "-") feature->source.file = given.file;
  if (options.stage) feature->source.calibration = given.calibration;
  return deliver({*feature}, given.common);
}

}  // namespace

void add_fit(CLI::App& program, Action& action) {
  auto options = std::make_shared<FitOptions>();
  CLI::App* command =
      program.add_subcommand("fit", "Fits circle and ellipse to a file of readings or points.");
  command->add_option("file", options->file, "readings, one a line: x,y or x,y,sigma; - = standard input")
      ->required()
      ->type_name("POINTS.csv");
  command->add_option("--calibration", options->calibration, "stage calibration of the comparator")
      ->type_name("STAGE.json");
  command->add_option("--sigma", options->sigma, "reading uncertainty per axis, when known, e.g. 0.0002in")
      ->type_name("LENGTH");
  command
      ->add_option("--form", options->form,
                   "out-of-round of the part, peak to valley, e.g. 0.01mm; none = perfectly round")
      ->type_name("LENGTH|none");
  command->add_flag("--plain", options->plain, "ordinary least squares of all points, nothing left out");
  add_feature_options(*command, options->common);
  command->footer(
      "Example: readings of the demo roller's crown, known to two tenths of a thou\n"
      "  rondure fit images-demo/crown_readings.csv --sigma 0.0002in --kind arc --save roller.json --feature "
      "crown");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
