#include <memory>

#include "command.hpp"
#include "report_part.hpp"
#include "report_set.hpp"
#include "rondure/record/set_json.hpp"

namespace rondure::cli {
namespace {

struct ReportOptions {
  std::string record, output;
};

constexpr std::size_t kInputLimitBytes = 32u << 20;

int run_report(const ReportOptions& options) {
  if (const auto text = read_file(options.record, kInputLimitBytes); text && is_set_json(*text))
    return report_set(options.record, *text, options.output);
  const auto page = part_page(options.record, {});
  if (!page) return report_error(page.error(), options.record);
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
  command->add_option("record", options->record, "the part record, or the answer of a set")
      ->required()
      ->type_name("PART.json");
  command->add_option("-o,--output", options->output, "the page to write")
      ->required()
      ->type_name("PART.html");
  command->callback([options, &action] { action = [options] { return run_report(*options); }; });
}

}  // namespace rondure::cli
