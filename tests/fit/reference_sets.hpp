// The published and stress sets of tests/data/fits with their certified answers.
#pragma once
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure::test {

inline const nlohmann::json& certified() {
  static const nlohmann::json all = [] {
    std::ifstream in(std::string(RONDURE_TEST_DATA) + "/fits/certified.json");
    return nlohmann::json::parse(in);
  }();
  return all;
}

inline std::vector<PartPoint> set_points(const std::string& name) {
  std::ifstream in(std::string(RONDURE_TEST_DATA) + "/fits/" + name + ".csv");
  std::vector<PartPoint> points;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#' || line[0] == 'x') continue;
    char* rest = nullptr;
    const double x = std::strtod(line.c_str(), &rest);
    points.push_back({x, std::strtod(rest + 1, nullptr)});
  }
  return points;
}

}  // namespace rondure::test
