#include "rondure/record/not_the_part.hpp"

#include <cmath>

#include "json/text.hpp"
#include "sections.hpp"

namespace rondure {
using namespace record;

namespace {
constexpr const char* kKey = "not_the_part";
}

void put_not_the_part(PartRecord& record, const std::vector<EdgeAside>& edges) {
  Json document = Json::parse(record.preserved_json, nullptr, false);
  if (!document.is_object()) {
    if (edges.empty()) return;
    document = Json{{"format", "rondure-part"}, {"version", 1}, {"features", Json::array()}};
  }
  document.erase(kKey);
  for (const EdgeAside& edge : edges) {
    const Circle& c = edge.circle;
    if (!std::isfinite(c.center.x_mm) || !std::isfinite(c.center.y_mm) || !std::isfinite(c.radius_mm))
      continue;
    document[kKey].push_back({{"what", edge.what},
                              {"center_mm", {c.center.x_mm, c.center.y_mm}},
                              {"diameter_mm", c.diameter_mm()}});
  }
  record.preserved_json = document.dump();
}

std::vector<EdgeAside> not_the_part_of(const PartRecord& record) {
  std::vector<EdgeAside> edges;
  const Json document = Json::parse(record.preserved_json, nullptr, false);
  if (!document.is_object() || !document.contains(kKey) || !document[kKey].is_array()) return edges;
  for (const Json& e : document[kKey]) {
    if (!e.is_object() || !e.contains("what") || !e["what"].is_string() || !e.contains("center_mm") ||
        !e.contains("diameter_mm") || !e["diameter_mm"].is_number())
      continue;
    const Json& at = e["center_mm"];
    if (!at.is_array() || at.size() != 2 || !at[0].is_number() || !at[1].is_number()) continue;
    edges.push_back(
        {e["what"].get<std::string>(),
         {PartPoint{at[0].get<double>(), at[1].get<double>()}, 0.5 * e["diameter_mm"].get<double>()}});
  }
  return edges;
}

}  // namespace rondure
