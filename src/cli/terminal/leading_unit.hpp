// The unit that leads in errors and in what calibrations say.
#pragma once
#include <string>
#include <vector>

#include "rondure/core/shown.hpp"

namespace rondure::cli {

// From the words of a command line: that of --unit, mm without one.
void lead_as_asked(const std::vector<std::string>& words);
LengthWords leading_lengths();

}  // namespace rondure::cli
