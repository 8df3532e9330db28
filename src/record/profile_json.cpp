#include "json/text.hpp"
#include "rondure/record/profile_section.hpp"
#include "sections.hpp"
#include "shared_fields.hpp"

namespace rondure {
namespace {

using namespace record;

// The uncertainty of the size that names the piece.
std::optional<double> named_u_mm(const ProfileSegment& s) {
  if (s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper)
    return s.diameter_mm ? std::optional(s.diameter_mm->u) : std::nullopt;
  if (s.radius_mm) return s.radius_mm->u;
  return s.width_mm ? std::optional(s.width_mm->u) : std::nullopt;
}

// A value with its u in a key of its own; without the value there is neither.
template <class Io>
void estimate(Io& io, const char* key, const char* u_key, std::optional<Estimate>& v) {
  std::optional<double> value, u;
  if (v) value = v->value, u = v->u;
  io(key, value), io(u_key, u);
  if (Io::kReads && value) v = Estimate{*value, u.value_or(0)};
}

struct ProfileFields : SharedFields {
  using SharedFields::list;
  template <class Io>
  static void list(Io& io, ProfileSegment& v) {
    io.needed_word("kind", v.kind, segment_word, parse_segment_word,
                   "face, cylinder, taper, arc, chamfer or fillet");
    io("name", v.name), io.needed("from_mm", v.from_mm), io.needed("to_mm", v.to_mm);
    io("from_radius_mm", v.from_radius_mm), io("to_radius_mm", v.to_radius_mm);
    estimate(io, "diameter_mm", "u_diameter_mm", v.diameter_mm);
    estimate(io, "end_diameter_mm", "u_end_diameter_mm", v.end_diameter_mm);
    estimate(io, "radius_mm", "u_radius_mm", v.radius_mm);
    io("radius_interval95_mm", v.radius95_mm);
    estimate(io, "width_mm", "u_width_mm", v.width_mm);
    estimate(io, "sharp_width_mm", "u_sharp_width_mm", v.sharp_width_mm);
    std::optional<double> u_mm = named_u_mm(v);
    io("u_mm", u_mm), io("top_mm", v.top_mm), io("height_mm", v.height_mm);
    estimate(io, "angle_deg", "u_angle_deg", v.angle_deg);
    io.unless("concave", v.concave, false);
    io("budget", v.budget);
  }
  template <class Io>
  static void list(Io& io, SideProfile& v) {
    io.always("segments", v.segments);
    estimate(io, "length_mm", "u_length_mm", v.length_mm);
    io("p_as_cut", v.p_as_cut), io("p_as_seen", v.p_as_seen);
    std::optional<double> blur_mm;
    if (v.blur_mm > 0) blur_mm = v.blur_mm;
    io("blur_mm", blur_mm);
    if (Io::kReads) v.blur_mm = blur_mm.value_or(0);
    io.pairs("points", v.points, "[z_mm, r_mm]");
    io("warnings", v.warnings);
  }
};

}  // namespace

namespace record {

Json profile_to_json(const SideProfile& profile) { return Writer<ProfileFields>::object(profile); }
SideProfile profile_from_json(const Object& object) {
  return Reader<ProfileFields>::read<SideProfile>(object);
}

}  // namespace record

void put_profile(PartRecord& record, SideProfile profile) {
  record.profile = std::move(profile);
  forget_section(record, "profile");
}

}  // namespace rondure
