// The inferred original sizes as text for a terminal: candidates with bars, both units, what drives the
// answer, what to measure next.
#pragma once
#include <string>

#include "rondure/interpret/original.hpp"

namespace rondure {

std::string original_text(const OriginalResult& result);

}  // namespace rondure
