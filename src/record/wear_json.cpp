#include "rondure/record/wear_json.hpp"

#include "json/text.hpp"
#include "sections.hpp"

namespace rondure {

using namespace record;

std::string wear_json(const SetWear& wear) {
  Json j{{"format", "rondure-wear"}, {"version", 1}, {"feature", wear.feature}};
  j["against"] = wear.against_plan ? "plan" : "drawing";
  if (!wear.against_plan) {
    Json drawn{{"best", wear.drawn.label}};
    put(drawn, "size_mm", wear.drawn.size_mm);
    put(drawn, "probability", wear.drawn.probability);
    put(drawn, "u_mm", wear.u_drawn_mm);
    j["drawn"] = std::move(drawn);
  }
  j["parts"] = Json::array();
  for (const PartWear& p : wear.parts) {
    Json one{{"name", p.name}};
    put(one, "measured_mm", p.measured_mm);
    put(one, "u_mm", p.u_mm);
    put(one, "unworn_mm", p.unworn_mm.value);
    put(one, "u_unworn_mm", p.unworn_mm.u);
    put(one, "missing_mm", p.missing_mm.value);
    put(one, "u_missing_mm", p.missing_mm.u);
    put(one, "chance_most", p.chance_most);
    j["parts"].push_back(std::move(one));
  }
  if (!wear.left_out.empty()) j["left_out"] = wear.left_out;
  return print_document(j);
}

}  // namespace rondure
