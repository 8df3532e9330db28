#include "cli/terminal/wrong_words.hpp"

#include <algorithm>

namespace rondure::cli {
namespace {

// The command that was reached, and its names together.
const CLI::App* reached(const CLI::App& program, std::string& names) {
  const CLI::App* command = &program;
  for (;;) {
    const auto parsed = command->get_subcommands();
    if (parsed.empty()) return command;
    command = parsed.front();
    names += (names.empty() ? "" : " ") + command->get_name();
  }
}

// The option that the parser's words are about, "--unit: ...", "record is required" or "... --metric-prior = ...".
const CLI::Option* option_named(const CLI::App& command, const std::string& text) {
  const CLI::Option* best = nullptr;
  std::size_t length = 0;
  for (const CLI::Option* option : command.get_options()) {
    std::vector<std::string> names{option->get_name()};
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
    for (const std::string& name : names) {
      if (name.size() <= length) continue;
      const bool inside = name.starts_with("-") && text.find(name) != std::string::npos;
      if (text.starts_with(name) || inside) best = option, length = name.size();
    }
  }
  return best;
}

std::string shown_name(const CLI::Option& option) {
  return option.get_positional() ? option.get_type_name() : option.get_name();
}

// "mm, in or thou" of the parser's "{mm,in,thou}".
std::string choices(const std::string& text) {
  const auto open = text.find('{'), close = text.rfind('}');
  if (open == std::string::npos || close == std::string::npos || close < open) return {};
  std::string list = text.substr(open + 1, close - open - 1), out;
  for (std::size_t at = 0; at <= list.size();) {
    const auto end = std::min(list.find(',', at), list.size());
    const bool last = end == list.size();
    out += (out.empty() ? "" : last ? " or " : ", ") + list.substr(at, end - at);
    at = end + 1;
  }
  return out;
}

// What was typed for an option.
std::string typed_value(const CLI::Option& option, const std::vector<std::string>& words) {
  for (std::size_t i = 0; i < words.size(); ++i)
    for (const std::string& name : option.get_lnames()) {
      const std::string full = "--" + name;
      if (words[i] == full && i + 1 < words.size()) return words[i + 1];
      if (words[i].starts_with(full + "=")) return words[i].substr(full.size() + 1);
    }
  return {};
}

std::string value_words(const CLI::Option& option, const std::string& told,
                        const std::vector<std::string>& words) {
  std::string text = shown_name(option) + ": ";
  if (const std::string value = typed_value(option, words); !value.empty())
    text += "found '" + value.substr(0, 60) + "', ";
  std::string needed = choices(told);
  if (needed.empty() && told.find("range") != std::string::npos) needed = told.substr(told.find("range"));
  if (needed.empty())
    needed = option.get_type_name().empty() ? "another value" : "a " + option.get_type_name();
  return text + "needed " + needed;
}

}  // namespace

std::string in_own_words(const CLI::App& program, const CLI::ParseError& error,
                         const std::vector<std::string>& words) {
  std::string names;
  const CLI::App* command = reached(program, names);
  const std::string told = error.what(), front = names.empty() ? "" : names + ": ";
  const CLI::Option* option = option_named(*command, told);
  if (dynamic_cast<const CLI::RequiredError*>(&error)) {
    if (option) return front + "needed " + shown_name(*option) + " too";
    return front.empty() ? "needed a command" : front + "needed one of its commands";
  }
  if (dynamic_cast<const CLI::ExtrasError*>(&error)) {
    const auto left = program.remaining(true);
    const std::string word = left.empty() ? "" : left.front();
    if (command->get_name() == "report" && word.ends_with(".json"))
      return front + "found '" + word +
             "' too, and makes the page of one record; for parts of one machine: 'rondure original A.json "
             "B.json "
             "--json set.json', then 'rondure report set.json -o page.html'";
    return front + (word.starts_with("-") ? "found '" + word + "', which it does not know"
                                          : "found '" + word + "', and no place for it");
  }
  if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) && option)
    return front + "needed a value behind " + shown_name(*option) +
           (option->get_type_name().empty() ? "" : " (" + option->get_type_name() + ")");
  if (told.find("needed ") != std::string::npos) return told;  // one of our own checks
  if (option) return front + value_words(*option, told, words);
  return front + "found words that do not fit together";
}

}  // namespace rondure::cli
