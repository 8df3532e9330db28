// The section "profile" of a part record: what a side view showed.
#pragma once
#include <string>

#include "rondure/profile/side_profile.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

// Replaces the section, with all that a newer version had put into it.
void put_profile(PartRecord& record, SideProfile profile);

// The names under which a surface's width and, of an arc, its radius stand among the record's features.
inline std::string width_name(const ProfileSegment& surface) { return surface.name + " width"; }
// The width that stands there, as a drawing gives it: between the sharp corners where an edge is broken (ISO 13715).
inline const std::optional<Estimate>& drawn_width_mm(const ProfileSegment& surface) {
  return surface.sharp_width_mm ? surface.sharp_width_mm : surface.width_mm;
}
inline std::string radius_name(const ProfileSegment& surface) { return surface.name + " radius"; }

}  // namespace rondure
