// The section "profile" of a part record: what a side view showed. Read and put by itself, as few places ask for it;
// the record keeps it like any field it does not look into.
#pragma once
#include <optional>

#include "rondure/core/result.hpp"
#include "rondure/profile/side_profile.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

// Absent: no side view was taken. Errors: kFileDamaged (what and where).
Result<std::optional<SideProfile>> profile_of(const PartRecord& record);
// Replaces the section.
void put_profile(PartRecord& record, const SideProfile& profile);

}  // namespace rondure
