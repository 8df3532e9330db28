#include "json_text.hpp"
#include "rondure/record/profile_section.hpp"
#include "sections.hpp"

namespace rondure {
namespace {

using namespace record;

void put_estimate(Json& j, const std::string& key, const std::optional<Estimate>& e, const char* unit) {
  if (!e) return;
  put(j, (key + unit).c_str(), e->value);
  put(j, ("u_" + key + unit).c_str(), e->u);
}

std::optional<Estimate> estimate_from(const Object& o, const std::string& key, const char* unit) {
  const auto value = o.number((key + unit).c_str());
  if (!value) return std::nullopt;
  return Estimate{*value, o.number(("u_" + key + unit).c_str()).value_or(0)};
}

// The uncertainty of the size that names the piece.
std::optional<double> named_u_mm(const ProfileSegment& s) {
  if (s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper)
    return s.diameter_mm ? std::optional(s.diameter_mm->u) : std::nullopt;
  if (s.radius_mm) return s.radius_mm->u;
  return s.width_mm ? std::optional(s.width_mm->u) : std::nullopt;
}

Json budget_to_json(const std::vector<ProfileBudgetLine>& budget) {
  Json list = Json::array();
  for (const ProfileBudgetLine& line : budget) {
    Json j{{"source", line.source}};
    put(j, "u_mm", line.u_mm);
    list.push_back(std::move(j));
  }
  return list;
}

Json segment_to_json(const ProfileSegment& s) {
  Json j{{"kind", segment_word(s.kind)}};
  put(j, "name", s.name);
  put(j, "from_mm", s.from_mm);
  put(j, "to_mm", s.to_mm);
  put(j, "from_radius_mm", s.from_radius_mm);
  put(j, "to_radius_mm", s.to_radius_mm);
  put_estimate(j, "diameter", s.diameter_mm, "_mm");
  put_estimate(j, "end_diameter", s.end_diameter_mm, "_mm");
  put_estimate(j, "radius", s.radius_mm, "_mm");
  put(j, "radius_interval95_mm", s.radius95_mm);
  put_estimate(j, "width", s.width_mm, "_mm");
  put(j, "u_mm", named_u_mm(s));
  put(j, "top_mm", s.top_mm);
  put(j, "height_mm", s.height_mm);
  put_estimate(j, "angle", s.angle_deg, "_deg");
  if (s.concave) j["concave"] = true;
  put(j, "budget", budget_to_json(s.budget));
  return j;
}

ProfileSegment segment_from_json(const Object& o) {
  ProfileSegment s;
  const auto kind = parse_segment_word(o.text("kind"));
  if (!kind) o.refuse("kind", "face, cylinder, taper, arc, chamfer or fillet");
  s.kind = *kind, s.name = o.text("name");
  s.from_mm = o.needed_number("from_mm"), s.to_mm = o.needed_number("to_mm");
  s.from_radius_mm = o.number("from_radius_mm").value_or(0),
  s.to_radius_mm = o.number("to_radius_mm").value_or(0);
  s.diameter_mm = estimate_from(o, "diameter", "_mm"),
  s.end_diameter_mm = estimate_from(o, "end_diameter", "_mm");
  s.radius_mm = estimate_from(o, "radius", "_mm"), s.radius95_mm = o.interval("radius_interval95_mm");
  s.width_mm = estimate_from(o, "width", "_mm"), s.angle_deg = estimate_from(o, "angle", "_deg");
  s.top_mm = o.number("top_mm"), s.height_mm = o.number("height_mm");
  s.concave = o.flag("concave").value_or(false);
  o.each("budget", [&](const Object& b) {
    s.budget.push_back({b.text("source"), b.number("u_mm").value_or(0)});
  });
  return s;
}

Json profile_to_json(const SideProfile& profile) {
  Json j;
  j["segments"] = Json::array();
  for (const ProfileSegment& s : profile.segments) j["segments"].push_back(segment_to_json(s));
  put_estimate(j, "length", profile.length_mm, "_mm");
  put(j, "p_as_cut", profile.p_as_cut);
  j["points"] = Json::array();
  for (const Eigen::Vector2d& p : profile.points)
    if (p.allFinite()) j["points"].push_back({p.x(), p.y()});
  put(j, "warnings", warnings_to_json(profile.warnings));
  return j;
}

SideProfile profile_from_json(const Object& o) {
  SideProfile profile;
  o.each("segments", [&](const Object& s) { profile.segments.push_back(segment_from_json(s)); });
  profile.length_mm = estimate_from(o, "length", "_mm");
  profile.p_as_cut = o.number("p_as_cut").value_or(1);
  if (const Json* points = o.array_at("points"))
    for (std::size_t i = 0; i < points->size(); ++i) {
      const std::string at = o.pointer_to("points") + "/" + std::to_string(i);
      if (!(*points)[i].is_array() || (*points)[i].size() != 2)
        throw Damage{at, "found no pair, needed [z_mm, r_mm]"};
      profile.points.emplace_back(number_in((*points)[i][0], at + "/0"),
                                  number_in((*points)[i][1], at + "/1"));
    }
  profile.warnings = warnings_from_json(o);
  return profile;
}

}  // namespace

Result<std::optional<SideProfile>> profile_of(const PartRecord& record) try {
  const Json document = Json::parse(record.preserved_json, nullptr, false);
  if (!document.is_object()) return std::optional<SideProfile>{};
  const auto section = Object(document, "").object("profile");
  if (!section) return std::optional<SideProfile>{};
  return std::optional<SideProfile>(profile_from_json(*section));
} catch (const Damage& damage) {
  return Error{ErrorCode::kFileDamaged, place_of(record.preserved_json, damage.pointer) + ", " +
                                            readable(damage.pointer) + ": " + damage.what};
}

void put_profile(PartRecord& record, const SideProfile& profile) {
  Json document = Json::parse(record.preserved_json, nullptr, false);
  if (!document.is_object()) document = Json{{"format", "rondure-part"}, {"version", 1}};
  document["profile"] = profile_to_json(profile);
  record.preserved_json = document.dump();
}

}  // namespace rondure
