// The side view on the page: the profile true to scale, and each arc's deviations enlarged.
#pragma once
#include <string>
#include <vector>

#include "rondure/core/shown.hpp"
#include "rondure/profile/side_profile.hpp"
#include "rondure/report/page.hpp"

namespace rondure {

std::string profile_section(const PartRecord& record, LengthUnit unit);  // empty without a side view
// A place along the axis that is lettered in the drawing.
struct ProfileMark {
  double at_mm = 0;
  std::string letter;
};
// `earlier`: another profile to the same scale, in broken lines; the surfaces are called as it calls them.
std::string profile_drawing(const SideProfile& profile, const LengthWords& words,
                            const SideProfile* earlier = nullptr, const std::vector<ProfileMark>& marks = {});
std::string arc_deviations(const SideProfile& profile, const ProfileSegment& arc, const LengthWords& words);
// The record's side view against an earlier one or against its plan: both to scale, and what each surface has lost or
// gained enlarged. Empty without the other.
std::string wear_section(const PartRecord& record, const PageOptions& options);

}  // namespace rondure
