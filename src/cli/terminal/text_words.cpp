#include "cli/terminal/text_words.hpp"

#include <iostream>
#include <iterator>

#include "cli/terminal/leading_unit.hpp"
#include "cli/terminal/paint.hpp"

namespace rondure::cli {
namespace {
std::string standard_input() { return std::string(std::istreambuf_iterator<char>(std::cin), {}); }
LengthUnit leading_unit = LengthUnit::kMm;
}  // namespace

std::size_t line_width() { return terminal_columns(1); }  // standard output

TextOptions text_options(const std::string& unit, bool all) {
  return {parse_unit(unit).value_or(LengthUnit::kMm), line_width(), all, terminal_ink()};
}

void lead_as_asked(const std::vector<std::string>& words) {
  const std::string option = "--unit", joined = option + "=";
  for (std::size_t i = 0; i < words.size(); ++i) {
    const std::string unit = words[i].starts_with(joined)                 ? words[i].substr(joined.size())
                             : words[i] == option && i + 1 < words.size() ? words[i + 1]
                                                                          : "";
    if (!unit.empty()) leading_unit = parse_unit(unit).value_or(LengthUnit::kMm);
  }
}

LengthWords leading_lengths() { return LengthWords(leading_unit); }

void add_all_option(CLI::App& command, bool& all) {
  command.add_flag("--all", all, "every figure, not only four lines a feature");
}

Result<std::string> read_file_or_input(const std::string& file) {
  if (file != "-") return read_file(file);
  return standard_input();
}

Result<PartRecord> load_part_record_or_input(const std::string& file) {
  if (file != "-") return load_part_record(file);
  auto record = parse_part_record(standard_input());
  if (!record) return Error{record.error().code, "standard input, " + record.error().detail};
  return record;
}

void add_part_facts(CLI::App& command, PartFacts& facts) {
  command.add_option("--part", facts.name, "name of the part, for the record and the page")
      ->type_name("NAME");
  command.add_option("--mark", facts.mark, "the maker's mark on the part")->type_name("TEXT");
  command.add_option("--date", facts.date, "when it was made, or looked at")->type_name("TEXT");
  command.add_option("--note", facts.note, "anything worth keeping with the record")->type_name("TEXT");
}

}  // namespace rondure::cli
