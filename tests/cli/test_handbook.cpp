#include <catch2/catch.hpp>
#include <cstdlib>

#include "process.hpp"

namespace {
// The names under "Subcommands:" of a help text.
std::vector<std::string> subcommands_of(const std::string& help_text) {
  std::istringstream help(help_text);
  std::vector<std::string> names;
  bool listed = false;
  for (std::string line; std::getline(help, line);) {
    if (line.rfind("Subcommands:", 0) == 0) listed = true;
    else if (listed && line.size() > 2 && line[0] == ' ' && line[2] != ' ') names.push_back(line.substr(2, line.find(' ', 2) - 2));
  }
  return names;
}

// The footer of the help: from the word "Example" on, the command with arguments.
bool shows_example(const std::string& help, const std::string& words) {
  const auto example = help.rfind("Example");
  return example != std::string::npos && help.find("rondure " + words + " ", example) != std::string::npos;
}
}  // namespace

TEST_CASE("cli: a misspelt command or option is answered with the nearest", "[cli]") {
  const Run option = rondure_run({"report", "--hepl"});
  CHECK(option.exit_code == 2);
  CHECK(option.one_line_on_error());
  CHECK(option.err.find("did you mean '--help'?") != std::string::npos);
  const Run command = rondure_run({"reprot", "x.json"});
  CHECK(command.exit_code == 2);
  CHECK(command.err.find("did you mean 'report'?") != std::string::npos);
  const Run nothing = rondure_run({});
  CHECK(nothing.exit_code == 2);
  CHECK(nothing.one_line_on_error());
}

TEST_CASE("cli: man pages and completions are written from the commands and read cleanly", "[cli][handbook]") {
  const Folder folder;
  REQUIRE(rondure_run({"handbook", folder.path("hb")}).exit_code == 0);
  CHECK(std::filesystem::exists(folder.path("hb/rondure.1")));
  CHECK(std::system(("bash -n " + folder.path("hb/rondure.bash")).c_str()) == 0);
  // every command that --help lists has its page
  const auto commands = subcommands_of(rondure_run({"--help"}).out);
  CHECK(commands.size() >= 2);
  for (const std::string& name : commands) {
    INFO(name);
    CHECK(std::filesystem::exists(folder.path("hb/rondure-" + name + ".1")));
  }
}

TEST_CASE("cli: every command's help shows an example", "[cli][handbook]") {
  for (const std::string& name : subcommands_of(rondure_run({"--help"}).out)) {
    const Run run = rondure_run({name, "--help"});
    CHECK(run.exit_code == 0);
    const auto deeper = subcommands_of(run.out);
    if (deeper.empty()) {
      INFO(name << ":\n" << run.out);
      CHECK(shows_example(run.out, name));
    }
    for (const std::string& sub : deeper) {
      const std::string help = rondure_run({name, sub, "--help"}).out;
      INFO(name << " " << sub << ":\n" << help);
      CHECK(shows_example(help, name + " " + sub));
    }
  }
}
