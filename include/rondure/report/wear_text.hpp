// Which of several equal parts has worn most, as text for a terminal.
#pragma once
#include <string>

#include "rondure/core/shown.hpp"
#include "rondure/interpret/set_wear.hpp"

namespace rondure {

// The table in the unit asked for; what is missing in the other one too.
std::string wear_text(const SetWear& wear, double confidence_ratio, const TextOptions& options = {});

}  // namespace rondure
