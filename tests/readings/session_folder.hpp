// A folder for one test, and a reading out of a typed line.
#pragma once
#include <stdlib.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <sstream>
#include <string>
#include <utility>

#include "rondure/readings/reading_line.hpp"

class Folder {
public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "rondure-session-XXXXXX").string();
    REQUIRE(mkdtemp(name.data()));
    path = name;
  }
  ~Folder() { std::filesystem::remove_all(path); }
  std::string read(const std::string& name) const {
    std::ifstream in(path / name, std::ios::binary);
    std::stringstream s;
    s << in.rdbuf();
    return s.str();
  }
  void write(const std::string& name, const std::string& text) const {
    std::ofstream(path / name, std::ios::binary) << text;
  }
  std::size_t files() const {
    return std::size_t(std::distance(std::filesystem::directory_iterator(path), {}));
  }
  std::filesystem::path path;
};

inline rondure::Reading reading(const std::string& text) {
  auto read = rondure::parse_reading_line(text, rondure::LengthUnit::kMm);
  if (!read) FAIL(read.error().message());
  return std::move(read).value();
}
