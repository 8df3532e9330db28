#include "cli/terminal/handbook.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace rondure::cli {
namespace {

using Commands = std::vector<const CLI::App*>;

Commands visible(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App* sub) { return !sub->get_group().empty(); });
}

// Every command that can be called, with the words that call it ("calibrate camera").
std::vector<std::pair<std::string, const CLI::App*>> callable(const CLI::App& program) {
  std::vector<std::pair<std::string, const CLI::App*>> list;
  for (const CLI::App* command : visible(program)) {
    list.emplace_back(command->get_name(), command);
    for (const CLI::App* sub : visible(*command))
      list.emplace_back(command->get_name() + " " + sub->get_name(), sub);
  }
  return list;
}

std::vector<const CLI::Option*> named_options(const CLI::App& app) {
  return app.get_options(
      [](const CLI::Option* o) { return !o->get_lnames().empty() && !o->get_group().empty(); });
}
std::vector<const CLI::Option*> positionals(const CLI::App& app) {
  return app.get_options([](const CLI::Option* o) { return o->get_positional(); });
}

std::string roff(std::string_view text) {
  std::string out;
  bool line_start = true;
  for (const char c : text) {
    if (line_start && (c == '.' || c == '\'')) out += "\\&";
    if (c == '\\')
      out += "\\e";
    else if (c == '-')
      out += "\\-";
    else
      out += c;
    line_start = c == '\n';
  }
  return out;
}

std::string value_name(const CLI::Option& option) {
  return option.get_items_expected_max() == 0 ? "" : option.get_type_name();
}

std::string option_entry(const CLI::Option& option) {
  std::string names;
  for (const auto& s : option.get_snames()) names += (names.empty() ? "-" : ", -") + s;
  for (const auto& l : option.get_lnames()) names += (names.empty() ? "--" : ", --") + l;
  std::string entry = fmt::format(".TP\n\\fB{}\\fR", roff(names));
  if (const auto value = value_name(option); !value.empty()) entry += fmt::format(" \\fI{}\\fR", roff(value));
  entry += "\n" + roff(option.get_description());
  if (!option.get_default_str().empty()) entry += roff(" (default " + option.get_default_str() + ")");
  return entry + "\n";
}

std::string page(const std::string& words, const CLI::App& command, const std::string& version) {
  std::string file_name = "rondure" + (words.empty() ? "" : "-" + words);
  std::replace(file_name.begin(), file_name.end(), ' ', '-');
  std::string upper = file_name;
  std::transform(upper.begin(), upper.end(), upper.begin(), [](unsigned char c) { return std::toupper(c); });
  std::string first = command.get_description();
  first = first.substr(0, first.find('\n'));
  std::string text = fmt::format(
      ".TH \"{}\" 1 \"\" \"{}\" \"rondure handbook\"\n.SH NAME\n{} \\- {}\n.SH SYNOPSIS\n\\fBrondure{}\\fR",
      upper, version, roff(file_name), roff(first), words.empty() ? "" : " " + words);
  for (const CLI::Option* p : positionals(command))
    text += fmt::format(" \\fI{}\\fR", roff(p->get_type_name().empty() ? p->get_name() : p->get_type_name()));
  text += visible(command).empty() ? " [\\fIoptions\\fR]\n" : " \\fIcommand\\fR [\\fIoptions\\fR]\n";
  text += ".SH DESCRIPTION\n" + roff(command.get_description()) + "\n";
  if (!visible(command).empty()) {
    text += ".SH COMMANDS\n";
    for (const CLI::App* sub : visible(command))
      text += fmt::format(".TP\n\\fB{}\\fR\n{}\n", sub->get_name(), roff(sub->get_description()));
  }
  const auto arguments = positionals(command);
  if (!arguments.empty()) {
    text += ".SH ARGUMENTS\n";
    for (const CLI::Option* p : arguments)
      text += fmt::format(".TP\n\\fI{}\\fR\n{}\n",
                          roff(p->get_type_name().empty() ? p->get_name() : p->get_type_name()),
                          roff(p->get_description()));
  }
  text += ".SH OPTIONS\n";
  for (const CLI::Option* o : named_options(command)) text += option_entry(*o);
  if (!command.get_footer().empty()) text += ".SH EXAMPLE\n.nf\n" + roff(command.get_footer()) + "\n.fi\n";
  text += ".SH EXIT STATUS\n0 all done; 1 the data could not be measured; 2 the command line is wrong.\n";
  return text;
}

std::string shell_quote(std::string text) {
  for (std::size_t at = 0; (at = text.find('\'', at)) != std::string::npos; at += 4)
    text.replace(at, 1, "'\\''");
  return "'" + text + "'";
}

std::string first_sentence(const std::string& text) {
  const std::string line = text.substr(0, text.find('\n'));
  const auto stop = line.find(". ");
  return stop == std::string::npos ? line : line.substr(0, stop);
}

}  // namespace

std::map<std::string, std::string> man_pages(const CLI::App& program) {
  const std::string version = program.version();
  std::map<std::string, std::string> pages;
  pages["rondure.1"] = page("", program, version);
  for (const auto& [words, command] : callable(program)) {
    std::string name = "rondure-" + words + ".1";
    std::replace(name.begin(), name.end(), ' ', '-');
    pages[name] = page(words, *command, version);
  }
  return pages;
}

std::string bash_completion(const CLI::App& program) {
  std::string cases;
  for (const auto& [words, command] : callable(program)) {
    std::string list;
    for (const CLI::App* sub : visible(*command)) list += sub->get_name() + " ";
    for (const CLI::Option* o : named_options(*command))
      for (const auto& l : o->get_lnames()) list += "--" + l + " ";
    cases += fmt::format("    \"{}\") words=\"{}\" ;;\n", words, list);
  }
  std::string names;
  for (const CLI::App* command : visible(program)) names += command->get_name() + " ";
  return fmt::format(
      "# bash completion for rondure\n_rondure() {{\n  local word words first=\"\" second=\"\" i\n  "
      "word=\"${{COMP_WORDS[COMP_CWORD]}}\"\n"
      "  for ((i = 1; i < COMP_CWORD; ++i)); do\n    case \"${{COMP_WORDS[i]}}\" in -*) ;; *)\n"
      "      if [ -z \"$first\" ]; then first=\"${{COMP_WORDS[i]}}\"; elif [ -z \"$second\" ]; then "
      "second=\"${{COMP_WORDS[i]}}\"; fi ;;\n    esac\n  done\n"
      "  words=\"{}\"\n  for i in \"$first $second\" \"$first\"; do\n  case \"$i\" in\n{}    *) continue "
      ";;\n  esac\n  break\n  done\n"
      "  COMPREPLY=($(compgen -W \"$words\" -- \"$word\"))\n}}\ncomplete -o default -F _rondure rondure\n",
      names, cases);
}

std::string zsh_completion(const CLI::App& program) {
  std::string text = "#compdef rondure\n_rondure() {\n  local -a commands\n  commands=(\n";
  for (const CLI::App* command : visible(program))
    text +=
        "    " + shell_quote(command->get_name() + ":" + first_sentence(command->get_description())) + "\n";
  text +=
      "  )\n  if (( CURRENT == 2 )); then _describe 'command' commands; return; fi\n  case \"$words[2]\" "
      "in\n";
  for (const CLI::App* command : visible(program)) {
    text += fmt::format("    {})\n", command->get_name());
    const auto list_options = [&](const CLI::App& app) {
      std::string arguments = "_arguments";
      for (const CLI::Option* o : named_options(app))
        for (const auto& l : o->get_lnames()) {
          std::string description = first_sentence(o->get_description());
          std::replace(description.begin(), description.end(), '[', '(');
          std::replace(description.begin(), description.end(), ']', ')');
          std::replace(description.begin(), description.end(), ':', ',');
          arguments += " " + shell_quote("--" + l + "[" + description + "]" +
                                         (value_name(*o).empty() ? "" : ":value:_files"));
        }
      return arguments + " '*:file:_files'";
    };
    if (visible(*command).empty())
      text += "      " + list_options(*command) + " ;;\n";
    else {
      text += "      if (( CURRENT == 3 )); then compadd --";
      for (const CLI::App* sub : visible(*command)) text += " " + sub->get_name();
      text += "; return; fi\n      case \"$words[3]\" in\n";
      for (const CLI::App* sub : visible(*command))
        text += fmt::format("        {}) {} ;;\n", sub->get_name(), list_options(*sub));
      text += "      esac ;;\n";
    }
  }
  return text + "  esac\n}\n_rondure \"$@\"\n";
}

std::string fish_completion(const CLI::App& program) {
  std::string text = "# fish completion for rondure\n";
  for (const CLI::App* command : visible(program)) {
    text += fmt::format("complete -c rondure -n __fish_use_subcommand -a {} -d {}\n", command->get_name(),
                        shell_quote(first_sentence(command->get_description())));
    const auto options_of = [&](const CLI::App& app, const std::string& condition) {
      for (const CLI::Option* o : named_options(app))
        for (const auto& l : o->get_lnames())
          text += fmt::format("complete -c rondure -n {} -l {}{} -d {}\n", shell_quote(condition), l,
                              value_name(*o).empty() ? "" : " -r",
                              shell_quote(first_sentence(o->get_description())));
    };
    const std::string seen = "__fish_seen_subcommand_from " + command->get_name();
    options_of(*command, seen);
    for (const CLI::App* sub : visible(*command)) {
      text += fmt::format("complete -c rondure -n {} -a {} -d {}\n", shell_quote(seen), sub->get_name(),
                          shell_quote(first_sentence(sub->get_description())));
      options_of(*sub, seen + "; and __fish_seen_subcommand_from " + sub->get_name());
    }
  }
  return text;
}

}  // namespace rondure::cli
