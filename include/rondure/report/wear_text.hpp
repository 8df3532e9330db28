// Which of several equal parts has worn most, as text for a terminal.
#pragma once
#include <string>

#include "rondure/interpret/set_wear.hpp"

namespace rondure {

// Lines of at most `width` where they are sentences.
std::string wear_text(const SetWear& wear, double confidence_ratio, std::size_t width = 80);

}  // namespace rondure
