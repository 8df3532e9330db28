// A profile's end: text, JSON, the part record.
#pragma once
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/profile/side_profile.hpp"

namespace rondure::cli {

int deliver_profile(std::vector<Feature> features, const SideProfile& profile, const CommonOptions& common);

}  // namespace rondure::cli
