// The profile that a plan asks for, to hold a copy's side view against (profile/compare_profiles.hpp).
//
// A surface for every named step; steps of one name beside each other are one surface. Its diameter is the target, without
// an uncertainty. `allowed_mm`: half of the limits of that diameter, less the target; of a crown at its top.
#pragma once
#include <map>
#include <optional>
#include <string>

#include "rondure/core/geometry.hpp"
#include "rondure/making/replacement.hpp"
#include "rondure/profile/side_profile.hpp"

namespace rondure::plan {

struct PlannedProfile {
  SideProfile profile;
  std::map<std::string, Interval> allowed_mm;  // by surface, of its radius
};
// Nothing where the plan does not know the part's widths.
std::optional<PlannedProfile> planned_profile(const ReplacementPlan& plan);

}  // namespace rondure::plan
