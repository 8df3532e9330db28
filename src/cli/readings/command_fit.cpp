#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "cli/readings/readings_profile.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/text_words.hpp"
#include "cli/terminal/thermal_option.hpp"
#include "rondure/interpret/outline.hpp"
#include "rondure/measure/measure_readings.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

struct FitOptions {
  CommonOptions common;
  std::vector<std::string> files;
  std::string calibration, sigma, form, nominal;
  std::string along;
  bool plain = false, all = false;
};

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

// The text with the diameter that its deviations are from, as a comment behind the header: lines keep their numbers.
std::string with_nominal(const std::string& text, const std::string& nominal) {
  for (std::size_t at = 0; at < text.size();) {
    const auto end = std::min(text.find_first_of("\r\n", at), text.size());
    const auto first = text.find_first_not_of(" \t", at);
    if (first < end && text[first] != '#')
      return text.substr(0, end) + " # nominal: " + nominal + text.substr(end);
    at = end + 1;
  }
  return text;
}

Result<Feature> fit_file(const std::string& file, const ReadingsOptions& options, const FitOptions& given) {
  const auto text = read_file_or_input(file);
  if (!text) return text.error();
  auto feature =
      measure_readings(given.nominal.empty() ? *text : with_nominal(*text, given.nominal), options);
  if (!feature) return feature;
  if (file != "-") feature->source.file = file;
  if (options.stage) feature->source.calibration = given.calibration;
  if (given.files.size() > 1 && file != "-") feature->name = std::filesystem::path(file).stem().string();
  return feature;
}

// One file of readings along the axis, delivered; absent: it is no such file. An error is left to the fit.
std::optional<int> profile_file(const ReadingsOptions& options, const FitOptions& given) {
  const auto along = read_along(given.along);
  if (!along) return report_error(along.error());
  if (given.files.size() != 1 || given.files[0] == "-")
    return *along ? std::optional(report_usage("fit: --along takes one file at a time")) : std::nullopt;
  const auto text = read_file_or_input(given.files[0]);
  auto readings = text ? parse_points(*text, options.bare) : Result<Readings>(text.error());
  if (!readings) return *along ? std::optional(report_error(readings.error(), given.files[0])) : std::nullopt;
  if (*along) readings->profile = *along;
  if (!readings->profile) return std::nullopt;
  if (const auto ok = refuse_given(
          {{"--form", !given.form.empty()}, {"--plain", given.plain}, {"--nominal", !given.nominal.empty()}},
          "has no effect on a profile");
      !ok)
    return report_error(ok.error());
  return deliver_readings_profile(given.files[0], *readings, options.stage ? &*options.stage : nullptr,
                                  options.outline.sigma_mm, given.common);
}

int run(const FitOptions& given) {
  ReadingsOptions options;
  options.bare = bare_unit(given.common);
  if (const auto ok = read_options(given, options.outline); !ok) return report_error(ok.error());
  if (!given.nominal.empty())
    if (const auto nominal = parse_length_mm(given.nominal, options.bare); !nominal || !(*nominal > 0))
      return report_usage("--nominal: found '" + given.nominal + "', needed a diameter such as 12.5mm");
  if (std::ranges::count(given.files, "-") > 1)
    return report_usage("fit: found - twice, but standard input can be read only once");
  if (!given.calibration.empty()) {
    auto loaded = load_stage_calibration(given.calibration);
    if (!loaded) return report_error(loaded.error(), given.calibration);
    options.stage = std::move(*loaded);
  }
  if (const auto profile = profile_file(options, given)) return *profile;
  std::vector<Feature> features;
  int status = kDone;
  for (const std::string& file : given.files) {  // one that cannot be fitted does not stop the rest
    auto feature = fit_file(file, options, given);
    if (feature) {
      if (!given.common.kind.empty()) feature->kind = FeatureKind::from_record(given.common.kind);
      features.push_back(std::move(*feature));
    } else {
      status = report_error(feature.error(), file);
    }
  }
  if (features.empty()) return status;
  const int delivered = deliver(std::move(features), given.common, given.all);
  return status == kDone ? delivered : status;
}

}  // namespace

void add_fit(CLI::App& program, Action& action) {
  auto options = std::make_shared<FitOptions>();
  CLI::App* command =
      program.add_subcommand("fit", "Fits circle and ellipse to a file of readings or points.");
  command
      ->add_option("files", options->files,
                   "readings, one a line: x,y or x,y,sigma; - = standard input; several: a feature each")
      ->required()
      ->type_name("POINTS.csv...");
  command->add_option("--calibration", options->calibration, "stage calibration of the comparator")
      ->type_name("STAGE.json");
  command->add_option("--sigma", options->sigma, "reading uncertainty per axis, when known, e.g. 0.0002in")
      ->type_name("LENGTH");
  command
      ->add_option("--form", options->form,
                   "out-of-round of the part, peak to valley, e.g. 0.01mm; none = perfectly round")
      ->type_name("LENGTH|none");
  command
      ->add_option("--nominal", options->nominal, "diameter that the deviations of angle,indicator are from")
      ->type_name("LENGTH");
  add_along_option(*command, options->along);
  command->add_flag("--plain", options->plain, "ordinary least squares of all points, nothing left out");
  add_all_option(*command, options->all);
  add_feature_options(*command, options->common);
  command->footer(
      "Example: readings of the demo roller's crown, known to two tenths of a thou\n"
      "  rondure fit images-demo/crown_readings.csv --sigma 0.0002in --kind arc --save roller.json --feature "
      "crown");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
