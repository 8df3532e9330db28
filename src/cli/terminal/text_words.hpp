// How a command's answer leaves as text, what is read from standard input, and what is said of the part.
#pragma once
#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/record/part_facts.hpp"

namespace rondure::cli {

inline constexpr int kOutsideLimits = 3;  // exit status of compare, only where it was asked for

// Columns of the terminal behind standard output; 80 where there is none or it does not say.
std::size_t line_width();
// The unit asked for in front, within the terminal's width, four lines a feature unless `all`.
TextOptions text_options(const std::string& unit, bool all = false);
void add_all_option(CLI::App& command, bool& all);
// deliver() of command.hpp, with every figure where `all`.
int deliver(std::vector<Feature> features, const CommonOptions& options, bool all_figures);

// A file's text, of standard input for "-"; the part record in it. Errors: those of read_file, load_part_record.
Result<std::string> read_file_or_input(const std::string& file);
Result<PartRecord> load_part_record_or_input(const std::string& file);

// --part, --mark, --date, --note: for a record that is written.
void add_part_facts(CLI::App& command, PartFacts& facts);

}  // namespace rondure::cli
