// Which of several equal parts has worn most, as text for a terminal.
#pragma once
#include <string>

#include "rondure/interpret/set_wear.hpp"

namespace rondure {

std::string wear_text(const SetWear& wear, double confidence_ratio);

}  // namespace rondure
