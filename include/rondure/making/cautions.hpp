// The usual cautions, only those that apply, a sentence or two each. They remind; they do not replace local
// rules, the makers' data sheets or licensed practice, and the last line says so.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/warning.hpp"
#include "rondure/making/material.hpp"

namespace rondure::plan {

struct CautionFacts {
  std::optional<Material> old_material, new_material;  // old absent = not known
  bool form_tool = false;
  bool press_fit = false;
  bool abrasive_arbor = false;  // paper or cloth on an arbor is among the best choices
  double smallest_mm = 10;      // smallest diameter turned
  std::optional<double> inertia_ratio;
  std::optional<double> burst_speed_margin;  // bursting speed over running speed
};
// Codes: "turning", "small-part", "form-tool", "hardening", "press", "abrasive", "unknown-plastic",
// "phenolic-dust", "cellulose", "chlorine", "formaldehyde", "isocyanate", "lead", "chips", "heavier-rotor",
// "burst", "local-rules".
std::vector<Warning> cautions(const CautionFacts& facts);

}  // namespace rondure::plan
