// What a side view says of itself besides its sizes.
#pragma once
#include <optional>

#include "rondure/core/geometry.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/profile/limb.hpp"
#include "rondure/profile/side_profile.hpp"

namespace rondure {

// Of what the tilt is worth saying: 0.2 degrees move no size that a bench can tell.
std::optional<Warning> tilt_note(const std::optional<Estimate>& tilt_rad);
// Of a camera whose distance nobody told.
Warning distance_note(double largest_radius_mm);

// Of ends that tell no tilt: what the bow of a tilted face would read as cannot be told from a form then.
Warning tilt_untold_note();
// Of steps whose foot lies behind the rim beside it: a face of rim R bows by |slope of the line of sight| sqrt(R^2 - r^2)
// over a foot at r, and a fillet there shows by what stands out beyond. `camera`: origin on the axis, at its middle.
std::optional<Warning> hidden_feet_note(const SideProfile& profile, const SideCamera& camera,
                                        double px_per_mm);

}  // namespace rondure
