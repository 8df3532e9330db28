// What a side view says of itself besides its sizes.
#pragma once
#include <optional>

#include "rondure/core/geometry.hpp"
#include "rondure/core/warning.hpp"

namespace rondure {

// Of what the tilt is worth saying: 0.2 degrees move no size that a bench can tell.
std::optional<Warning> tilt_note(const std::optional<Estimate>& tilt_rad);
// Of a camera whose distance nobody told.
Warning distance_note(double largest_radius_mm);

}  // namespace rondure
