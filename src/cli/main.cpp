#include <algorithm>
#include <cctype>
#include <exception>
#include <filesystem>
#include <iostream>

#include "cli/terminal/bench_file.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/leading_unit.hpp"
#include "cli/terminal/suggestion.hpp"
#include "cli/terminal/units_note.hpp"
#include "cli/terminal/wrong_words.hpp"

namespace rondure::cli {
void add_add(CLI::App& program, Action& action);  // command_add.cpp
}
namespace {
// In the order of the work. A command stands here only once it really works.
constexpr auto kCommands = {
    rondure::cli::add_calibrate, rondure::cli::add_measure, rondure::cli::add_record,
    rondure::cli::add_fit,       rondure::cli::add_add,     rondure::cli::add_original,
    rondure::cli::add_plan,      rondure::cli::add_compare, rondure::cli::add_report,
    rondure::cli::add_bench,     rondure::cli::add_verify,
    rondure::cli::add_handbook,  // hidden; keeps the last place
};

// For a program called without a command, or with a file alone: the command that was meant. Empty for others.
std::string what_to_type(int argc, char** argv) {
  if (argc <= 1)
    return "what to do? A photograph: rondure measure PHOTO.jpg --board 9x6 --square 5mm; comparator "
           "readings: "
           "rondure record READINGS.csv; a calliper: rondure add PART.json outside 12.44mm; all else: "
           "rondure --help";
  const std::string file = argv[1];
  std::error_code failed;
  if (file.starts_with("-") || !std::filesystem::is_regular_file(file, failed)) return {};
  std::string tail = std::filesystem::path(file).extension().string();
  for (char& c : tail) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  if (tail == ".jpg" || tail == ".jpeg" || tail == ".png" || tail == ".tif" || tail == ".tiff")
    return "to measure this picture: rondure measure " + file +
           " --board 9x6 --square 5mm (or --scale '38.00px/mm+-0.02' for a square-on view)";
  if (tail == ".csv" || tail == ".txt")
    return "to measure these readings: rondure fit " + file +
           "; for a list of sizes: rondure original --sizes " + file;
  if (tail == ".json")
    return "for a part record: rondure original " + file + ", rondure plan " + file + ", or rondure report " +
           file + " -o PART.html";
  return {};
}
}  // namespace

int main(int argc, char** argv) try {
  CLI::App program("rondure: measures moulded round parts and finds the sizes they were drawn with.",
                   "rondure");
  program.set_version_flag("--version", "rondure " RONDURE_VERSION);
  program.require_subcommand(1);
  rondure::cli::Action action;
  for (const auto add : kCommands) add(program, action);
  rondure::cli::add_bench_option(program);
  rondure::cli::add_units_note(program);
  const auto benched = rondure::cli::with_bench_file(program, {argv + 1, argv + argc});
  if (!benched) return rondure::cli::report_error(benched.error());
  rondure::cli::lead_as_asked(benched->words);
  try {
    std::vector<std::string> words(benched->words.rbegin(),
                                   benched->words.rend());  // the parser takes the last first
    program.parse(words);
  } catch (const CLI::CallForHelp& help) {
    return program.exit(help);
  } catch (const CLI::CallForAllHelp& help) {
    return program.exit(help);
  } catch (const CLI::CallForVersion& version) {
    return program.exit(version);
  } catch (const CLI::ParseError& error) {
    if (const std::string next = what_to_type(argc, argv); !next.empty())
      return rondure::cli::report_usage(next);
    std::string hint = rondure::cli::suggestion(program, {argv + 1, argv + argc});
    if (hint.empty()) hint = "see 'rondure --help'";
    std::string what = rondure::cli::in_own_words(program, error, benched->words);
    if (program.get_subcommands().empty() && argc > 1 && argv[1][0] != '-')
      what = "no command '" + std::string(argv[1]) + "'";
    return rondure::cli::report_usage(what + " (" + hint + ")");
  }
  if (!action) return rondure::cli::kBadCommandLine;
  const bool text = std::none_of(argv + 1, argv + argc,
                                 [](const std::string& word) { return word == "--quiet" || word == "-"; });
  const bool talks =
      std::string(argv[1]) == "record" || std::string(argv[1]) == "bench";  // by lines of their own
  if (text && !benched->note.empty()) (talks ? std::cerr : std::cout) << benched->note << '\n';
  return action();
} catch (const std::exception& error) {
  std::cerr << "rondure: unexpected failure: " << error.what() << '\n';
  return rondure::cli::kCouldNotMeasure;
}
