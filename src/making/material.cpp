#include "rondure/making/material.hpp"

#include <cctype>
#include <cmath>

#include "csv_table.hpp"

namespace rondure::plan {
namespace {

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  const auto first = out.find_first_not_of(" \t");
  return first == std::string::npos ? "" : out.substr(first, out.find_last_not_of(" \t") - first + 1);
}

std::vector<std::string> words(std::string_view text) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < text.size();) {
    auto end = text.find('|', at);
    if (end == std::string_view::npos) end = text.size();
    if (end > at) out.push_back(lower(text.substr(at, end - at)));
    at = end + 1;
  }
  return out;
}

// Words of the table's column `hazards`; one that is none of them is an error of the table, found by the tests.
std::vector<Hazard> hazards_of(std::string_view text) {
  constexpr std::string_view kWords[] = {"lead",     "chips",     "formaldehyde", "chlorine",
                                         "phenolic", "cellulose", "isocyanate"};
  std::vector<Hazard> out;
  for (const std::string& word : words(text))
    for (int k = 0; k <= static_cast<int>(Hazard::kIsocyanate); ++k)
      if (kWords[k] == word) out.push_back(static_cast<Hazard>(k));
  return out;
}

std::optional<double> optional(double v, double factor = 1) {
  return std::isfinite(v) ? std::optional(v * factor) : std::nullopt;
}

Material read_row(std::size_t row, std::size_t properties_row) {
  const CsvTable& more = CsvTable::builtin("plan_materials.csv");
  const CsvTable& properties = CsvTable::builtin("material_properties.csv");
  Material m;
  m.name = more.text(row, "material");
  m.density_kg_m3 = properties.number(properties_row, "density");
  m.density_range_kg_m3 = {properties.number(properties_row, "density_lo"),
                           properties.number(properties_row, "density_hi")};
  m.expansion_per_k = properties.number(properties_row, "cte") * 1e-6;
  m.young_MPa = optional(properties.number(properties_row, "E_GPa"), 1000);
  m.poisson_ratio = optional(properties.number(properties_row, "nu"));
  m.yield_MPa = optional(more.number(row, "yield_MPa"));
  m.ultimate_MPa = optional(more.number(row, "ultimate_MPa"));
  m.metal = more.text(row, "family") == "metal";
  m.lasting_strain_ratio = optional(more.number(row, "lasting_pct"), 0.01);
  m.left_1000h_ratio = optional(more.number(row, "left_1000h"));
  m.hazards = hazards_of(more.text(row, "hazards"));
  return m;
}

}  // namespace

Result<Material> find_material(std::string_view name_or_word) {
  const CsvTable& more = CsvTable::builtin("plan_materials.csv");
  const CsvTable& properties = CsvTable::builtin("material_properties.csv");
  const std::string wanted = lower(name_or_word);
  std::string known;
  for (std::size_t i = 0; i < more.rows(); ++i) {
    const auto aliases = words(more.text(i, "alias"));
    bool match = lower(more.text(i, "material")) == wanted;
    for (const std::string& alias : aliases) match = match || alias == wanted;
    if (match)
      for (std::size_t k = 0; k < properties.rows(); ++k)
        if (properties.text(k, "material") == more.text(i, "material")) return read_row(i, k);
    if (!aliases.empty()) known += (known.empty() ? "" : ", ") + aliases.front();
  }
  return Error{ErrorCode::kBadArgument, "found the material '" + std::string(name_or_word.substr(0, 40)) +
                                            "', needed one of: " + known};
}

}  // namespace rondure::plan
