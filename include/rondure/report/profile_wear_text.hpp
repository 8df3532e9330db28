// Two side views against each other, a line a surface.
#pragma once
#include <string>
#include <vector>

#include "rondure/core/shown.hpp"
#include "rondure/profile/compare_profiles.hpp"

namespace rondure {

// What one surface shows, without its name; `planned`: A is what it was to be, not what it was.
std::string wear_words(const SurfaceWear& surface, const LengthWords& words, bool planned = false);
// Empty where there is nothing to compare.
std::string profile_wear_text(const std::vector<SurfaceWear>& surfaces, const TextOptions& options = {});

}  // namespace rondure
