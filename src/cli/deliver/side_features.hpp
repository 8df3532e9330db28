// A side view's profile as features of the record.
#pragma once
#include <vector>

#include "rondure/interpret/feature.hpp"
#include "rondure/profile/side_profile.hpp"

namespace rondure::cli {

// Diameters (kind outside), widths (kind width; to the sharp corners beside a broken edge) and crown or groove radii (kind arc: diameter = 2 R).
std::vector<Feature> features_of(const SideProfile& profile);

}  // namespace rondure::cli
