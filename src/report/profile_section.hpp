// The side view on the page: the profile true to scale, and each arc's deviations enlarged.
#pragma once
#include <string>

#include "rondure/core/length.hpp"
#include "rondure/profile/side_profile.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

std::string profile_section(const PartRecord& record, LengthUnit unit);  // empty without a side view
std::string profile_drawing(const SideProfile& profile);
std::string arc_deviations(const SideProfile& profile, const ProfileSegment& arc);

}  // namespace rondure
