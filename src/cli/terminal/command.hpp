// What every command of the program shares: the options of the contract, and how a result leaves the program.
#pragma once
#include <CLI/CLI.hpp>
#include <functional>
#include <initializer_list>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/readings/stage.hpp"

namespace rondure::cli {

// Exit status; others: kOutsideLimits of compare.
inline constexpr int kDone = 0, kCouldNotMeasure = 1, kBadCommandLine = 2;

// The action of the command that was given on the command line; its value is the exit status.
using Action = std::function<int()>;

// Options that several commands take. Text is kept as typed and read by the accessors, so that a bad length is
// reported with its option's name.
struct CommonOptions {
  std::string json;         // file, or "-" for standard output
  std::string save;         // part record to add the feature to
  std::string feature;      // name of the feature in the record
  std::string kind;         // outside, bore, arc, width, metal ...
  std::string unit = "mm";  // of bare numbers
  std::string temperature;  // of the part while it was measured
  std::string material;
  bool quiet = false;
};
// Each command takes only those that it reads: of a result (--json, --save, --unit, --material, --quiet) ...
void add_result_options(CLI::App& command, CommonOptions& options, const char* saves);
// ... and those of a feature that is measured besides (--feature, --kind, --temperature).
void add_feature_options(CLI::App& command, CommonOptions& options);
// An option that would change nothing is refused, not swallowed: "--near has no effect with --side".
Result<void> refuse_given(std::initializer_list<std::pair<const char*, bool>> given, const std::string& why);
LengthUnit bare_unit(const CommonOptions& options);  // validated by the parser

// One line on standard error, and the exit status that goes with the code.
int report_error(const Error& error, const std::string& about = {});
// A mistake of the command line: exit 2.
int report_usage(const std::string& message);

// Flushes standard output: kDone, or one line and kCouldNotMeasure when not all of it could be written.
int finish_output();

std::string now_utc();  // ISO 8601

// Prints the features as text (unless --quiet or --json -), writes --json, adds them to --save.
// Several features: --feature names the first; the others get their kind or a number.
int deliver(std::vector<Feature> features, const CommonOptions& options);

// The stage calibration of a file. Errors: those of read_file and parse_stage_calibration.
Result<StageCalibration> load_stage_calibration(const std::string& file);

// One function a command, in command_<name>.cpp: adds the subcommand, and on use sets `action`.
void add_fit(CLI::App& program, Action& action);
void add_measure(CLI::App& program, Action& action);
void add_calibrate(CLI::App& program, Action& action);
void add_calibrate_camera(CLI::App& calibrate, Action& action);
void add_calibrate_plane(CLI::App& calibrate, Action& action);
void add_calibrate_scale(CLI::App& calibrate, Action& action);
void add_calibrate_board(CLI::App& calibrate, Action& action);
void add_calibrate_board_print(CLI::App& calibrate, Action& action);
void add_calibrate_stage(CLI::App& calibrate, Action& action);
void add_original(CLI::App& program, Action& action);
void add_record(CLI::App& program, Action& action);
void add_plan(CLI::App& program, Action& action);
void add_compare(CLI::App& program, Action& action);
void add_report(CLI::App& program, Action& action);
void add_bench(CLI::App& program, Action& action);
void add_verify(CLI::App& program, Action& action);
void add_handbook(CLI::App& program, Action& action);

}  // namespace rondure::cli
