#pragma once
#include <string>
#include <vector>

#include "rondure/profile/side_profile.hpp"

namespace rondure {

// Is it one of the surfaces a part is known by: cylinder, taper or arc?
bool is_main(const ProfileSegment& segment);
// Names of the main pieces, given left to right, else by kind and place. As many names as there are surfaces between faces
// will do: one that reads as several pieces (worn, unsure) has them as "NAME part 1", ..., with a warning. Errors:
// kBadArgument, with what was found.
Result<void> name_segments(const std::vector<std::string>& given, SideProfile& profile);

}  // namespace rondure
