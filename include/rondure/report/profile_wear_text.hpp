// Two side views against each other, a line a surface.
#pragma once
#include <string>
#include <vector>

#include "rondure/core/shown.hpp"
#include "rondure/profile/compare_profiles.hpp"

namespace rondure {

// Empty where there is nothing to compare.
std::string profile_wear_text(const std::vector<SurfaceWear>& surfaces, const TextOptions& options = {});

}  // namespace rondure
