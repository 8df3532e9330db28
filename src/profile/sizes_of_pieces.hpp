#pragma once
#include "pieces.hpp"
#include "rondure/profile/side_profile.hpp"

namespace rondure {

// Kind, ends and sizes of every piece, with their uncertainties. Errors: kNoAnswer.
Result<void> take_sizes(const Meridian& meridian, const std::vector<ProfilePointRZ>& points, const Cut& cut,
                        double shared, const ProfileCutOptions& options, SideProfile& out);

}  // namespace rondure
