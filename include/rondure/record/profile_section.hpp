// The section "profile" of a part record: what a side view showed. Read and put by itself, as few places ask for it;
// the record keeps it like any field it does not look into.
#pragma once
#include <optional>
#include <string>

#include "rondure/core/result.hpp"
#include "rondure/profile/side_profile.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

// Absent: no side view was taken. Errors: kFileDamaged (what and where).
Result<std::optional<SideProfile>> profile_of(const PartRecord& record);
// Replaces the section.
void put_profile(PartRecord& record, const SideProfile& profile);

// The names under which a surface's width and, of an arc, its radius stand among the record's features.
inline std::string width_name(const ProfileSegment& surface) { return surface.name + " width"; }
inline std::string radius_name(const ProfileSegment& surface) { return surface.name + " radius"; }

}  // namespace rondure
