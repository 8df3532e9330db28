// A CSV of tests/data/trade: rows of fields, quotes taken off, comments skipped; the header is row 0.
#pragma once
#include <catch2/catch.hpp>
#include <fstream>
#include <string>
#include <vector>

inline std::vector<std::vector<std::string>> trade_table(const std::string& name) {
  std::ifstream in(std::string(RONDURE_TEST_DATA) + "/trade/" + name);
  REQUIRE(in);
  std::vector<std::vector<std::string>> rows;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#') continue;
    std::vector<std::string> fields(1);
    bool quoted = false;
    for (const char c : line) {
      if (c == '"')
        quoted = !quoted;
      else if (c == ',' && !quoted)
        fields.emplace_back();
      else if (c != '\r')
        fields.back() += c;
    }
    rows.push_back(fields);
  }
  REQUIRE(rows.size() > 1);
  return rows;
}
