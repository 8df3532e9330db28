#include <catch2/catch.hpp>
#include <cstdlib>

#include "process.hpp"

TEST_CASE("cli: a misspelt command or option is answered with the nearest", "[cli]") {
  const Run option = rondure_run({"handbook", "--hepl"});
  CHECK(option.exit_code == 2);
  CHECK(option.one_line_on_error());
  CHECK(option.err.find("did you mean '--help'?") != std::string::npos);
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
  std::istringstream help(rondure_run({"--help"}).out);
  bool commands = false;
  int pages = 0;
  for (std::string line; std::getline(help, line);) {
    if (line.rfind("Subcommands:", 0) == 0) commands = true;
    else if (commands && line.size() > 2 && line[0] == ' ' && line[2] != ' ') {
      const std::string name = line.substr(2, line.find(' ', 2) - 2);
      INFO(name);
      CHECK(std::filesystem::exists(folder.path("hb/rondure-" + name + ".1")));
      ++pages;
    }
  }
  INFO("commands found: " << pages);
}

TEST_CASE("cli: every command's help shows an example", "[cli][handbook]") {
  std::istringstream help(rondure_run({"--help"}).out);
  bool commands = false;
  for (std::string line; std::getline(help, line);) {
    if (line.rfind("Subcommands:", 0) == 0) commands = true;
    else if (commands && line.size() > 2 && line[0] == ' ' && line[2] != ' ') {
      const std::string name = line.substr(2, line.find(' ', 2) - 2);
      const Run run = rondure_run({name, "--help"});
      INFO(name << ":\n" << run.out);
      CHECK(run.exit_code == 0);
      CHECK(run.out.find("rondure " + name) != std::string::npos);
    }
  }
}
