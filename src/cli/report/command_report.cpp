#include <iostream>
#include <memory>

#include "cli/report/input_limit.hpp"
#include "cli/report/report_part.hpp"
#include "cli/report/report_set.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/progress.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/record/set_json.hpp"

namespace rondure::cli {
namespace {

struct ReportOptions {
  std::string record, output, earlier, planned, unit = "mm";
  bool quiet = false;
};

int run_report(const ReportOptions& options) {
  PageWishes how{parse_unit(options.unit).value_or(LengthUnit::kMm), options.quiet, nullptr, options.earlier,
                 options.planned};
  if (options.record != "-")
    if (const auto text = read_file(options.record, kInputLimitBytes); text && is_set_json(*text)) {
      if (options.output == "-")
        return report_usage(
            "report: the pages of a set stand beside each other, needed a file behind -o, found -");
      if (!options.earlier.empty() || !options.planned.empty())
        return report_usage("report: --earlier and --planned are about one part, found the answer of a set");
      return report_set(options.record, *text, options.output, how);
    }
  Progress progress("drawing up the page", 1, options.quiet || options.output == "-");
  how.progress = &progress;
  const auto page = part_page(options.record, {}, how);
  progress.wipe();
  if (!page) return report_error(page.error(), options.record);
  if (options.output == "-") {
    std::cout << *page;
    return finish_output();
  }
  const auto written = write_file_atomically(options.output, *page);
  if (!written) return report_error(written.error(), options.output);
  return kDone;
}

}  // namespace

void add_report(CLI::App& program, Action& action) {
  auto options = std::make_shared<ReportOptions>();
  CLI::App* command = program.add_subcommand(
      "report",
      "Writes one page to print or to read on a phone, from a part record; from the answer of a set "
      "(original A.json B.json ... --json SET.json) its page and those of its parts beside it.");
  command->footer("Example: rondure report images-demo/two-dates/roller-2026.json -o roller.html");
  command
      ->add_option("record", options->record, "the part record, or the answer of a set; - = standard input")
      ->required()
      ->type_name("PART.json");
  command->add_option("-o,--output", options->output, "the page to write; - = standard output")
      ->required()
      ->type_name("PART.html");
  command->add_option("--unit", options->unit, "unit that stands first: mm, in or thou")
      ->type_name("UNIT")
      ->capture_default_str()
      ->check(CLI::IsMember({"mm", "in", "thou"}));
  command
      ->add_option(
          "--earlier", options->earlier,
          "record of the same part when it was less worn: where its profile has worn since (both from "
          "the side)")
      ->type_name("EARLIER.json");
  command
      ->add_option("--planned", options->planned,
                   "record with the plan that this part was made by: where its profile differs from that")
      ->type_name("PLAN.json")
      ->excludes("--earlier");
  command->add_flag("--quiet", options->quiet, "no text but the page");
  command->callback([options, &action] { action = [options] { return run_report(*options); }; });
}

}  // namespace rondure::cli
