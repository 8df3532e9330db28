#include <editline/readline.h>
#include <fmt/format.h>
#include <signal.h>
#include <unistd.h>

#include <cstdlib>
#include <iostream>
#include <memory>
#include <sstream>

#include "cli/readings/readings_profile.hpp"
#include "cli/readings/record_desk.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/terminal/thermal_option.hpp"
#include "rondure/measure/measure_readings.hpp"
#include "rondure/record/part_facts.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

struct RecordOptions {
  CommonOptions common;
  std::string file, calibration, along;
  int digits = 0;
  bool arc = false, unit_asked = false;
};

// A line of a pipe: bounded, so that a stream without line ends does no harm; what is too long is cut and
// refused.
bool next_line(std::istream& in, std::string& line) {
  constexpr std::size_t kLongest = 4096;  // bytes: no reading with its remark comes near
  line.clear();
  int c = in.get();
  if (c == EOF) return false;
  for (; c != EOF && c != '\n'; c = in.get())
    if (line.size() < kLongest) line += char(c);
  return true;
}

bool say(const std::string& text) {
  std::cout << text << std::endl;
  return std::cout.good();
}

// Lines beyond the terminal's width go on below, set in.
std::string folded(const std::string& text) {
  std::string out;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) {
    while (line.size() > kColumns) {
      const auto blank = line.rfind(' ', kColumns);
      if (blank == std::string::npos || line.find_first_not_of(' ') >= blank) break;
      out += (out.empty() ? "" : "\n") + line.substr(0, blank);
      line = "    " + line.substr(blank + 1);
    }
    out += (out.empty() ? "" : "\n") + line;
  }
  return out;
}

void talk_at_terminal(RecordDesk& desk) {
  rl_readline_name = const_cast<char*>("rondure");
  rl_inhibit_completion = 1;
  using_history();
  for (const auto& reading : desk.session().readings()) add_history(reading.reading.csv.c_str());
  if (!say(painted_reply(folded(desk.greeting())))) return;
  while (!desk.wants_to_quit()) {
    const std::string prompt = desk.prompt();
    const std::unique_ptr<char, decltype(&std::free)> line(readline(prompt.c_str()), &std::free);
    if (!line) {
      say("");
      break;
    }
    if (*line.get()) add_history(line.get());
    if (!say(painted_reply(folded(desk.answer(line.get()))))) break;
  }
}

void talk_to_pipe(RecordDesk& desk, bool quiet) {
  for (std::string line; !desk.wants_to_quit() && next_line(std::cin, line);) {
    const std::string text = desk.answer(line);
    if (!quiet || desk.must_be_said())  // questions and refusals are said even when the rest is not wanted
      if (!say(text)) break;
  }
}

// The answer for --json and --save, once the readings are taken.
int finish(const RecordDesk& desk, const RecordOptions& given, const std::optional<StageCalibration>& stage,
           const OutlineOptions& outline) {
  if (given.common.json.empty() && given.common.save.empty()) return kDone;
  const auto parsed = parse_points(desk.session().text(), desk.session().unit());
  if (!parsed) return report_error(parsed.error(), given.file);
  if (parsed->profile)
    return deliver_readings_profile(desk.session().file().string(), *parsed, stage ? &*stage : nullptr, {},
                                    given.common);
  auto feature = measure_readings(*parsed, stage ? &*stage : nullptr, outline);
  if (!feature) return report_error(feature.error(), given.file);
  feature->source.file = desk.session().file().string();
  if (stage) feature->source.calibration = given.calibration;
  const int delivered = deliver({*feature}, given.common);
  if (delivered != kDone || given.common.save.empty() || parsed->same.empty()) return delivered;
  const auto said = update_part_record(given.common.save, [&](PartRecord& record) -> Result<void> {
    for (const Feature& f : record.features)
      if (f.source.file == feature->source.file &&
          (f.name == given.common.feature || given.common.feature.empty()))
        put_same(record, f.name, parsed->same);
    return {};
  });
  return said ? kDone : report_error(said.error());
}

int run(const RecordOptions& given) {
  ::signal(SIGXFSZ, SIG_IGN);  // a limit on file size shows as a failed write
  DeskOptions options;
  options.decimals = given.digits;
  options.talks_at_length = ::isatty(STDIN_FILENO) == 1;
  const bool kept = !given.common.json.empty() || !given.common.save.empty();
  if (const auto ok = refuse_given({{"--feature", !kept && !given.common.feature.empty()},
                                    {"--kind", !kept && !given.common.kind.empty()}},
                                   "is for the part record: needs --save or --json too");
      !ok)
    return report_error(ok.error());
  if (const auto ok = read_temperature(given.common, options.outline); !ok) return report_error(ok.error());
  if (!given.calibration.empty()) {
    auto stage = load_stage_calibration(given.calibration);
    if (!stage) return report_error(stage.error(), given.calibration);
    options.stage = std::move(*stage);
  }
  auto session = Session::open(given.file, bare_unit(given.common), given.unit_asked);
  if (!session)
    return report_error(session.error(), session.error().code == ErrorCode::kBadLine ? given.file : "");
  const auto along = read_along(given.along);
  if (!along) return report_error(along.error());
  if (*along)
    if (const auto done = session->set_profile(**along); !done) return report_error(done.error());
  if (given.arc)
    if (const auto done = session->set_arc(); !done) return report_error(done.error());
  const auto stage = options.stage;
  const OutlineOptions outline = options.outline;
  RecordDesk desk(std::move(*session), std::move(options));
  if (::isatty(STDIN_FILENO) == 1)
    talk_at_terminal(desk);
  else
    talk_to_pipe(desk, given.common.quiet);
  if (const int status = finish(desk, given, stage, outline); status != kDone) return status;
  if (const int status = finish_output(); status != kDone) return status;
  return desk.all_taken() || ::isatty(STDIN_FILENO) == 1 ? kDone : kCouldNotMeasure;
}

}  // namespace

void add_record(CLI::App& program, Action& action) {
  auto options = std::make_shared<RecordOptions>();
  CLI::App* command = program.add_subcommand(
      "record", "Takes readings by hand and shows the fit as they come; nothing typed is lost.");
  command->add_option("file", options->file, "readings file; created if missing, otherwise continued")
      ->required()
      ->type_name("FILE.csv");
  command
      ->add_option("--digits", options->digits,
                   "decimals of a number typed without a point: with 4, 12345 is 1.2345")
      ->type_name("N")
      ->check(CLI::Range(0, 8));
  add_along_option(*command, options->along);
  command->add_flag("--arc", options->arc,
                    "only an arc of the part can be seen: readings are proposed on it alone");
  command->add_option("--calibration", options->calibration, "stage calibration of the comparator")
      ->type_name("STAGE.json");
  add_feature_options(*command, options->common);
  command->footer(
      "Example: dials in inch read to four decimals, and the answer kept in the part record\n"
      "  rondure record idler.csv --unit in --digits 4 --save idler.json --feature tread\n"
      "Type x y for each point. Every reading is on disk before the answer comes; after a stop the same "
      "command continues.\n"
      "+- is the standard uncertainty: R lies within it in 2 of 3 cases, within twice as much in 19 of 20.");
  command->callback([options, command, &action] {
    options->unit_asked = command->count("--unit") > 0;
    action = [options] { return run(*options); };
  });
}

}  // namespace rondure::cli
