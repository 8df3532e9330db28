// The program itself: help, version, wrong command lines.
#include <catch2/catch.hpp>

#include "process.hpp"

TEST_CASE("program: help and version go to standard output, exit 0", "[cli]") {
  const Run help = rondure_run({"--help"});
  CHECK(help.exit_code == 0);
  CHECK(help.out.find("rondure") != std::string::npos);
  CHECK(help.err.empty());
  const Run version = rondure_run({"--version"});
  CHECK(version.exit_code == 0);
  CHECK(version.out.starts_with("rondure "));
}

TEST_CASE("program: a wrong command line is one line on standard error and exit 2", "[cli]") {
  const std::vector<std::vector<std::string>> wrong{{}, {"frobnicate"}, {"--no-such-option"}};
  for (const auto& arguments : wrong) {
    const Run run = rondure_run(arguments);
    CHECK(run.exit_code == 2);
    CHECK(run.out.empty());
    CHECK(run.one_line_on_error());
  }
}
