// The record of a roller of which one diameter is known.
#pragma once
#include <nlohmann/json.hpp>
#include <string>

#include "process.hpp"

inline std::string roller(double outside_mm, const std::string& material = "POM-C") {
  const nlohmann::json record = {{"format", "rondure-part"},
                                 {"version", 1},
                                 {"part", {{"name", "roller"}, {"material", material}}},
                                 {"features",
                                  {{{"name", "outside"},
                                    {"kind", "outside"},
                                    {"source", {{"type", "two-point"}}},
                                    {"circle", {{"diameter_mm", outside_mm}, {"u_diameter_mm", 0.01}}}}}}};
  return record.dump();
}
