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
  if (!set.habits.empty()) {
    j["habits"] = Json::array();
    for (const GridUse& g : set.habits) {
      j["habits"].push_back({{"system", std::string(name(g.system))}, {"grid", g.grid}});
      put(j["habits"].back(), "share", g.share);
    }
  }
  j["same_drawing"] = set.same_drawing;
  j["parts"] = Json::array();
  for (std::size_t p = 0; p < set.parts.size(); ++p) j["parts"].push_back(part_json(set.parts[p], files[p]));
  j["odd_parts"] = Json::array();
  for (const OddPart& odd : set.odd) j["odd_parts"].push_back(odd_json(odd));
  put(j, "warnings", warnings_to_json(set.warnings));
  return print_document(j);
}

namespace {

BestAnswer best_from_json(const Object& o) {
  return {o.text("best"), o.number("size_mm").value_or(0), o.number("probability").value_or(0)};
}

SetPartResult part_from_json(const Object& o) {
  SetPartResult part;
  part.name = o.text("name");
  if (const auto original = o.object("original")) part.original = original_from_json(*original);
  if (const auto alone = o.object("alone")) part.alone = best_from_json(*alone);
  if (const auto odd = o.object("odd")) {
    part.p_other_drawing = odd->number("other_drawing").value_or(0);
    part.p_stranger = odd->number("stranger").value_or(0);
  }
  return part;
}

OddPart odd_from_json(const Object& o) {
  OddPart odd{o.text("name"),
              o.number("other_drawing").value_or(0),
              o.number("stranger").value_or(0),
              o.number("odds").value_or(0),
              {}};
  o.each("changes", [&](const Object& c) {
    OddPart::Change change{c.text("part"), c.text("feature"), {}, {}};
    if (const auto with = c.object("with")) change.with = best_from_json(*with);
    if (const auto without = c.object("without")) change.without = best_from_json(*without);
    odd.changes.push_back(std::move(change));
  });
  return odd;
}

SetFile set_from_document(const Json& document) {
  const Object o(document, "");
  if (o.text("format") != "rondure-set") o.refuse("format", "\"rondure-set\"");
  SetFile file;
  SetResult& set = file.set;
  if (const auto system = o.object("unit_system")) set.p_metric = system->needed_number("metric");
  if (const auto shrinkage = o.object("shrinkage")) {
    set.shrinkage_mean = shrinkage->needed_number("mean");
    set.shrinkage95 =
        shrinkage->interval("interval95").value_or(Interval{set.shrinkage_mean, set.shrinkage_mean});
    set.material = shrinkage->text("material");
    set.likeness = shrinkage->number("likeness").value_or(0);
  }
  o.each("habits", [&](const Object& h) {
    set.habits.push_back({h.text("system") == "inch" ? UnitSystem::kInch : UnitSystem::kMetric,
                          h.text("grid"), h.number("share").value_or(0)});
  });
  if (const Json* names = o.array_at("same_drawing"))
    for (const Json& name : *names) {
      if (!name.is_string()) o.refuse("same_drawing", "a list of names");
      set.same_drawing.push_back(name.get<std::string>());
    }
  o.each("parts", [&](const Object& p) {
    set.parts.push_back(part_from_json(p));
    file.files.push_back(p.text("file"));
    if (set.parts.back().name.empty()) set.parts.back().name = file.files.back();
  });
  if (set.parts.empty()) o.refuse("parts", "the parts of the set");
  set.confidence_ratio = set.parts.front().original.confidence_ratio;
  o.each("odd_parts", [&](const Object& p) { set.odd.push_back(odd_from_json(p)); });
  set.warnings = warnings_from_json(o);
  return file;
}

}  // namespace

bool is_set_json(const std::string& text) {
  const Json document = Json::parse(text, nullptr, false);
  return document.is_object() && document.contains("format") && document["format"] == "rondure-set";
}

Result<SetFile> parse_set_json(const std::string& text) try {
  return set_from_document(read_document(text));
} catch (const TextDamage& damage) {
  return Error{ErrorCode::kFileDamaged, damage.where_and_what};
} catch (const Damage& damage) {
  return Error{ErrorCode::kFileDamaged,
               place_of(text, damage.pointer) + ", " + readable(damage.pointer) + ": " + damage.what};
}

}  // namespace rondure
