// One line at the end of every help text that has lengths: how they are written.
#pragma once
#include <CLI/CLI.hpp>

namespace rondure::cli {

// To every command (and theirs) that takes --unit.
void add_units_note(CLI::App& program);

}  // namespace rondure::cli
