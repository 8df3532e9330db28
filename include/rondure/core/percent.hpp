// A probability as every text and page tells it.
#pragma once
#include <string>

namespace rondure {

// "77 %", "under 1 %", "over 99 %": never 0 or 100.
std::string percent(double p);

}  // namespace rondure
