#include "rondure/record/part_facts.hpp"

#include "json/text.hpp"
#include "sections.hpp"

namespace rondure {
using namespace record;

PartFacts facts_of(const PartRecord& record) {
  PartFacts facts{record.name, {}, {}, {}};
  const Json document = Json::parse(record.preserved_json, nullptr, false);
  if (!document.is_object() || !document.contains("part") || !document["part"].is_object()) return facts;
  const auto text = [&](const char* key) {
    const auto at = document["part"].find(key);
    return at != document["part"].end() && at->is_string() ? at->get<std::string>() : std::string();
  };
  facts.mark = text("mark"), facts.date = text("date"), facts.note = text("note");
  return facts;
}

void put_facts(PartRecord& record, const PartFacts& facts) {
  if (!facts.name.empty()) record.name = facts.name;
  Json document = Json::parse(record.preserved_json, nullptr, false);
  if (!document.is_object())
    document = Json{{"format", "rondure-part"}, {"version", 1}, {"features", Json::array()}};
  Json& part = document["part"];
  if (!part.is_object()) part = Json::object();
  for (const auto& [key, text] :
       {std::pair{"mark", &facts.mark}, std::pair{"date", &facts.date}, std::pair{"note", &facts.note}})
    if (!text->empty()) part[key] = *text;
  record.preserved_json = document.dump();
}

std::vector<std::pair<std::string, std::string>> same_words(const PartRecord& record) {
  std::vector<std::pair<std::string, std::string>> words;
  const Json document = Json::parse(record.preserved_json, nullptr, false);
  if (!document.is_object() || !document.contains("features") || !document["features"].is_array())
    return words;
  for (const Json& f : document["features"])
    if (f.is_object() && f.contains("name") && f["name"].is_string() && f.contains(kSameKey) &&
        f[kSameKey].is_string())
      words.emplace_back(f["name"].get<std::string>(), f[kSameKey].get<std::string>());
  return words;
}

void put_same(PartRecord& record, const std::string& feature, const std::string& word) {
  Json document = Json::parse(record.preserved_json, nullptr, false);
  if (!document.is_object() || !document.contains("features") || !document["features"].is_array()) return;
  for (Json& f : document["features"])
    if (f.is_object() && f.contains("name") && f["name"] == feature) f[kSameKey] = word;
  record.preserved_json = document.dump();
}

}  // namespace rondure
