#include "cli/terminal/units_note.hpp"

namespace rondure::cli {

void add_units_note(CLI::App& program) {
  for (CLI::App* command : program.get_subcommands([](const CLI::App*) { return true; })) {
    add_units_note(*command);
    if (command->get_option_no_throw("--unit") == nullptr) continue;
    command->footer(
        command->get_footer() +
        "\n\nLengths carry their unit: 12.7mm, 0.5in, 15.5thou, 12um; a bare number is in --unit. "
        "6mm+-0.1mm gives one\nstandard uncertainty with it.");
  }
}

}  // namespace rondure::cli
