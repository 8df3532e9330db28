// A side view's profile for the terminal: one line a piece, mm and inch.
#pragma once
#include <string>

#include "rondure/core/shown.hpp"
#include "rondure/profile/side_profile.hpp"

namespace rondure {

std::string profile_text(const SideProfile& profile, const TextOptions& options = {});

}  // namespace rondure
