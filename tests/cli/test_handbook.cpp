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
    if (line.rfind("Subcommands:", 0) == 0)
      listed = true;
    else if (listed && line.size() > 2 && line[0] == ' ' && line[2] != ' ')
      names.push_back(line.substr(2, line.find(' ', 2) - 2));
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

TEST_CASE("cli: man pages and completions are written from the commands and read cleanly",
          "[cli][handbook]") {
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

namespace {
// The command lines of a help text's examples, continued lines joined.
std::vector<std::string> examples_of(const std::string& help) {
  std::vector<std::string> commands;
  std::istringstream text(help.substr(help.rfind("\nExample")));
  for (std::string line, whole; std::getline(text, line);) {
    const std::size_t at = whole.empty() ? line.find("rondure ") : line.find_first_not_of(' ');
    const bool starts =
        at != std::string::npos &&
        (whole.empty() ? line.substr(0, at).find_first_not_of(" :Examples") == std::string::npos : true);
    if (!starts) continue;
    whole += (whole.empty() ? "" : " ") + line.substr(at);
    if (whole.back() == '\\') {
      whole.pop_back();
      continue;
    }
    commands.push_back(whole);
    whole.clear();
  }
  return commands;
}

std::vector<std::string> all_commands() {
  std::vector<std::string> list;
  for (const std::string& name : subcommands_of(rondure_run({"--help"}).out)) {
    const auto deeper = subcommands_of(rondure_run({name, "--help"}).out);
    if (deeper.empty()) list.push_back(name);
    for (const std::string& sub : deeper) list.push_back(name + " " + sub);
  }
  return list;
}
}  // namespace

TEST_CASE("cli: the examples of every help text work on the demo files", "[cli][handbook][repeats]") {
  const Folder folder;
  std::filesystem::create_directory_symlink(std::filesystem::canonical(RONDURE_SOURCE "/images-demo"),
                                            folder.path("images-demo"));
  RunOptions options;
  options.folder = folder.path("");
  options.program = "/bin/bash";
  options.in = "1.0 2.0\n1.5 2.5\n2.0 2.0\n";  // what a command that reads by hand gets to read
  const std::string program = std::filesystem::canonical(RONDURE_PROGRAM).string();
  for (const std::string& words : all_commands()) {
    const Run help = rondure_run([&] {
      std::vector<std::string> arguments;
      std::istringstream split(words + " --help");
      for (std::string word; split >> word;) arguments.push_back(word);
      return arguments;
    }());
    const auto examples = examples_of(help.out);
    INFO(help.out);
    CHECK_FALSE(examples.empty());
    for (const std::string& example : examples) {
      INFO(example);
      // what serves until it is told to end is told so after a second
      const std::string until = words == "bench" ? "timeout --preserve-status -s INT 1 " : "";
      const Run run = rondure_run({"-c", until + program + example.substr(7)}, options);
      INFO(run.out << run.err);
      CHECK(run.exit_code == 0);
    }
  }
}

TEST_CASE("cli: help says in which unit every length is", "[cli][handbook][repeats]") {
  int with_lengths = 0;
  for (const std::string& words : all_commands()) {
    std::vector<std::string> arguments;
    std::istringstream split(words + " --help");
    for (std::string word; split >> word;) arguments.push_back(word);
    const std::string help = rondure_run(arguments).out;
    INFO(help);
    if (help.find("--unit") == std::string::npos) {
      CHECK(help.find("LENGTH") == std::string::npos);
      continue;
    }
    ++with_lengths;
    CHECK(help.find("a bare number is in --unit") != std::string::npos);
  }
  CHECK(with_lengths >= 8);
}
