// Every command that the README shows runs, in its order, in a folder that holds nothing but the demo files.
#include <catch2/catch.hpp>
#include <fstream>

#include "process.hpp"

TEST_CASE("README: every command it shows works as written", "[cli][readme][repeats]") {
  const std::filesystem::path source = std::filesystem::canonical(RONDURE_SOURCE);
  const Folder folder;
  std::filesystem::create_directory_symlink(source / "images-demo", folder.path("images-demo"));
  std::ifstream readme(source / "README.md");
  int commands = 0;
  for (std::string line; std::getline(readme, line);) {
    const std::size_t start = line.find_first_not_of(' ');  // indented by four, by more in a list
    if (start == std::string::npos || start < 4 || line.compare(start, 8, "rondure ") != 0) continue;
    ++commands;
    INFO(line);
    const std::string program = std::filesystem::canonical(RONDURE_PROGRAM).string();
    RunOptions options;
    options.folder = folder.path("");
    options.program = "/bin/bash";
    options.in = "1.0 2.0\n";  // what a command that reads by hand gets to read
    const Run run = rondure_run({"-c", program + line.substr(start + 7)}, options);
    INFO(run.out << run.err);
    CHECK(run.exit_code == 0);
  }
  CHECK(commands >= 20);
}

TEST_CASE("README: every picture it shows is there", "[cli][readme]") {
  const std::string readme = text_of(RONDURE_SOURCE "/README.md");
  int pictures = 0;
  for (std::size_t at = 0; (at = readme.find("![", at)) != std::string::npos; ++at, ++pictures) {
    const std::size_t open = readme.find("](", at), close = readme.find(')', open);
    const std::string words = readme.substr(at + 2, open - at - 2),
                      file = readme.substr(open + 2, close - open - 2);
    INFO(file);
    CHECK(words.size() > 20);  // for those who cannot see it
    CHECK(std::filesystem::file_size(std::filesystem::path(RONDURE_SOURCE) / file) > 1000);
    CHECK(std::filesystem::file_size(std::filesystem::path(RONDURE_SOURCE) / file) < 400000);
  }
  CHECK(pictures >= 6);
}
