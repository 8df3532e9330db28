#include <iostream>

#include "cli/terminal/command.hpp"
#include "cli/terminal/leading_unit.hpp"
#include "cli/terminal/paint.hpp"

namespace rondure::cli {

void add_result_options(CLI::App& command, CommonOptions& options, const char* saves) {
  command.add_option("--json", options.json, "write the result as a part record (JSON); - = standard output")
      ->type_name("FILE");
  command.add_option("--save", options.save, saves)->type_name("PART.json");
  command.add_option("--unit", options.unit, "unit of bare numbers: mm, in or thou")
      ->type_name("UNIT")
      ->capture_default_str()
      ->check(CLI::IsMember({"mm", "in", "thou", "um"}));
  command.add_option("--material", options.material, "material of the part, e.g. POM-C")->type_name("NAME");
  command.add_flag("--quiet", options.quiet, "no text on standard output");
}

void add_feature_options(CLI::App& command, CommonOptions& options) {
  add_result_options(command, options, "add the measured feature to this part record (created if missing)");
  command.add_option("--feature", options.feature, "name of the feature in the record")->type_name("NAME");
  command.add_option("--kind", options.kind, "what it is: outside, bore, bore-on-metal, width, arc, metal")
      ->type_name("KIND")
      ->check([](const std::string& kind) {
        if (FeatureKind::parse(kind)) return std::string();
        return "found '" + kind.substr(0, 40) + "', needed " + FeatureKind::kWords;
      });
  command.add_option("--temperature", options.temperature, "temperature of the part, e.g. 23C or 73F")
      ->type_name("T");
}

Result<void> refuse_given(std::initializer_list<std::pair<const char*, bool>> given, const std::string& why) {
  for (const auto& [option, is_given] : given)
    if (is_given) return Error{ErrorCode::kBadArgument, std::string(option) + " " + why};
  return {};
}

LengthUnit bare_unit(const CommonOptions& options) {
  return parse_unit(options.unit).value_or(LengthUnit::kMm);
}

int report_error(const Error& error, const std::string& about) {
  std::cerr << error_lines((about.empty() ? "" : about + ": ") + leading_lengths().sentence(error.message()));
  const bool command_line = error.code == ErrorCode::kBadArgument || error.code == ErrorCode::kBadLength;
  return command_line ? kBadCommandLine : kCouldNotMeasure;
}

int finish_output() {
  std::cout.flush();
  if (std::cout) return kDone;
  return report_error(
      {ErrorCode::kFileUnwritable, "standard output, its reader is gone or its disk is full"});
}

int report_usage(const std::string& message) {
  std::cerr << error_lines(leading_lengths().sentence(message));
  return kBadCommandLine;
}

}  // namespace rondure::cli
