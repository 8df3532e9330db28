#include "rondure/record/set_json.hpp"

#include "json/text.hpp"
#include "sections.hpp"

namespace rondure {
namespace {

using namespace record;

Json best_json(const BestAnswer& best) {
  Json j{{"best", best.label}};
  put(j, "size_mm", best.size_mm);
  put(j, "probability", best.probability);
  return j;
}

Json part_json(const SetPartResult& part, const std::string& file) {
  Json j{{"file", file}, {"name", part.name}};
  j["original"] = original_to_json(part.original);
  j["alone"] = best_json(part.alone);
  Json odd;
  put(odd, "other_drawing", part.p_other_drawing);
  put(odd, "stranger", part.p_stranger);
  j["odd"] = std::move(odd);
  return j;
}

Json odd_json(const OddPart& odd) {
  Json j{{"name", odd.name}};
  put(j, "odds", odd.odds);
  put(j, "other_drawing", odd.p_other_drawing);
  put(j, "stranger", odd.p_stranger);
  j["changes"] = Json::array();
  for (const OddPart::Change& c : odd.changes)
    j["changes"].push_back({{"part", c.part},
                            {"feature", c.feature},
                            {"with", best_json(c.with)},
                            {"without", best_json(c.without)}});
  return j;
}

}  // namespace

std::string set_json(const SetResult& set, const std::vector<std::string>& files) {
  Json j{{"format", "rondure-set"}, {"version", 1}};
  j["unit_system"] = {{"metric", set.p_metric}, {"inch", 1 - set.p_metric}};
  Json shrinkage;
  put(shrinkage, "mean", set.shrinkage_mean);
  put(shrinkage, "interval95", set.shrinkage95);
  put(shrinkage, "material", set.material);
  put(shrinkage, "likeness", set.likeness);
  j["shrinkage"] = std::move(shrinkage);
  j["same_drawing"] = set.same_drawing;
  j["parts"] = Json::array();
  for (std::size_t p = 0; p < set.parts.size(); ++p) j["parts"].push_back(part_json(set.parts[p], files[p]));
  j["odd_parts"] = Json::array();
  for (const OddPart& odd : set.odd) j["odd_parts"].push_back(odd_json(odd));
  put(j, "warnings", warnings_to_json(set.warnings));
  return print_document(j);
}

}  // namespace rondure
