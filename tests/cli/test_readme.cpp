// Every command that the README shows runs, in its order, in a folder that holds nothing but the demo files.
#include <catch2/catch.hpp>
#include <fstream>

#include "process.hpp"

TEST_CASE("README: every command it shows works as written", "[cli][readme]") {
  const std::filesystem::path source = std::filesystem::canonical(RONDURE_SOURCE);
  const Folder folder;
  std::filesystem::create_directory_symlink(source / "images-demo", folder.path("images-demo"));
  std::ifstream readme(source / "README.md");
  int commands = 0;
  for (std::string line; std::getline(readme, line);) {
    if (line.rfind("    rondure ", 0) != 0) continue;
    ++commands;
    INFO(line);
    const std::string program = std::filesystem::canonical(RONDURE_PROGRAM).string();
    RunOptions options;
    options.folder = folder.path("");
    options.program = "/bin/bash";
    options.in = "1.0 2.0\n";  // what a command that reads by hand gets to read
    const Run run = rondure_run({"-c", program + line.substr(std::string("    rondure").size())}, options);
    INFO(run.out << run.err);
    CHECK(run.exit_code == 0);
  }
  CHECK(commands >= 8);
}
