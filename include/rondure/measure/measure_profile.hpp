// A profile read by hand, as by a comparator: positions along the axis with the radius there (or the diameter, or an edge
// across the axis from anywhere), cut like a side view (side_profile.hpp).
//
// Readings stand in the order in which they follow the profile, left to right; along a step's face the position
// stays and the radius changes. Each reading's standard uncertainty: its own, the stated one, or what the readings
// show: the scatter of five neighbours about an arc of theirs, at the level that three in ten such fives stay below
// (the others may lie over a corner), never less than the rounding of the last digit; so it is known with a quarter
// of the readings as degrees of freedom, and no more is cut than that allows. A piece needs three
// readings, an arc five. Where two surfaces do not meet (no readings on the step between them) the end
// of each lies somewhere between the readings: uncertain by their distance / sqrt(12). Edges tell no diameters.
// Errors: kTooFewPoints (below 5), kBadArgument (readings that are no profile, that run backwards), kNoAnswer.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/profile/side_profile.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/readings/stage.hpp"

namespace rondure {

struct ProfileReadingsOptions {
  std::optional<double> sigma_mm;  // of a reading, per axis
  std::vector<std::string> names;  // of the main pieces, left to right
};

// `stage` may be null; it corrects edges alone, whose two numbers are both read on it.
Result<SideProfile> measure_profile(const Readings& readings, const StageCalibration* stage,
                                    const ProfileReadingsOptions& options);

}  // namespace rondure
