#include "rondure/record/part_record.hpp"

#include <algorithm>

#include "json/text.hpp"
#include "keep_unknown.hpp"
#include "sections.hpp"

namespace rondure {
namespace {

using namespace record;

constexpr std::string_view kFormat = "rondure-part";
constexpr int kVersion = 1;  // fields that are added do not raise it: keep_unknown below

// What this version knows of a record, without the fields of others.
Json known_part(const PartRecord& r) {
  Json j{{"format", kFormat}, {"version", kVersion}};
  Json part;
  put(part, "name", r.name);
  put(part, "material", r.material);
  put(j, "part", std::move(part));
  j["features"] = Json::array();
  for (const Feature& feature : r.features) j["features"].push_back(feature_to_json(feature));
  if (r.original) j["original"] = original_to_json(*r.original);
  if (r.replacement) j["replacement"] = plan_to_json(*r.replacement);
  if (r.profile) j["profile"] = profile_to_json(*r.profile);
  put(j, "warnings", warnings_to_json(r.warnings));
  return j;
}

PartRecord from_document(const Json& document) {
  const Object o(document, "");
  if (o.text("format") != kFormat) o.refuse("format", "\"format\": \"rondure-part\"");
  if (o.integer("version").value_or(0) < 1) o.refuse("version", "a \"version\" of 1 or more");
  PartRecord r;
  if (const auto part = o.object("part")) r.name = part->text("name"), r.material = part->text("material");
  o.each("features", [&](const Object& f) { r.features.push_back(feature_from_json(f)); });
  if (const auto original = o.object("original")) r.original = original_from_json(*original);
  if (const auto replacement = o.object("replacement")) r.replacement = plan_from_json(*replacement);
  if (const auto profile = o.object("profile")) r.profile = profile_from_json(*profile);
  r.warnings = warnings_from_json(o);
  return r;
}

}  // namespace

void record::forget_section(PartRecord& r, const char* key) {
  Json document = Json::parse(r.preserved_json, nullptr, false);
  if (!document.is_object()) return;
  document.erase(key);
  r.preserved_json = document.dump();
}

std::string to_json(const PartRecord& r) {
  Json now = known_part(r);
  if (const Json was = Json::parse(r.preserved_json, nullptr, false); was.is_object()) try {
      keep_unknown(was, known_part(from_document(was)), now);
      now["version"] = std::max(kVersion, was.value("version", kVersion));
    } catch (const Damage&) {  // not a record that was read: nothing to keep
    }
  return print_document(now);
}

Result<PartRecord> parse_part_record(const std::string& json_text) try {
  if (json_text.find_first_not_of(" \t\r\n") == std::string::npos)
    return Error{ErrorCode::kFileDamaged, "found an empty file, needed a part record"};
  PartRecord r = from_document(read_document(json_text));
  r.preserved_json = json_text;
  return r;
} catch (const TextDamage& damage) {
  return Error{ErrorCode::kFileDamaged, damage.where_and_what};
} catch (const Damage& damage) {
  std::string where =
      place_of(json_text, damage.pointer) + ", " + readable(damage.pointer) + ": " + damage.what;
  if (damage.pointer.starts_with("/replacement"))
    where += "; without its section \"replacement\" the record can be read and planned anew";
  if (damage.pointer.starts_with("/profile"))
    where += "; without its section \"profile\" the record can be read, and the side view taken again";
  return Error{ErrorCode::kFileDamaged, std::move(where)};
}

}  // namespace rondure
