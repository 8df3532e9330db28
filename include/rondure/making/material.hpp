// Materials for a replacement: density, stiffness, strength, expansion, and how a hub of it keeps a press
// fit. Figures from the built-in tables material_properties.csv and plan_materials.csv, whose headers give
// the source of each; a figure that no table gives is absent.
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure::plan {

enum class Hazard { kLead, kChips, kFormaldehyde, kChlorine, kPhenolic, kCellulose, kIsocyanate };

struct Material {
  std::string name;
  double density_kg_m3 = 0;
  Interval density_range_kg_m3;
  double expansion_per_k = 0;       // linear, near 20 C
  std::optional<double> young_MPa;  // short-time
  std::optional<double> poisson_ratio;
  std::optional<double> yield_MPa;  // 0.2 % proof stress, or tensile yield of a plastic
  std::optional<double> ultimate_MPa;
  bool metal = false;
  std::optional<double> lasting_strain_ratio;  // plastics: hoop strain a hub stands for years
  std::optional<double> left_1000h_ratio;      // plastics: share of a press-fit pressure left after 1000 h
  std::vector<Hazard> hazards;                 // see cautions.hpp
};

// By name or usual word ("brass", "POM-C", "acetal", "6061"); case does not matter. Errors: kBadArgument with
// the list.
Result<Material> find_material(std::string_view name_or_word);

}  // namespace rondure::plan
