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

}  // namespace rondure
