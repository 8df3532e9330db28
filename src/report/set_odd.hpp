#pragma once
#include <string>

#include "rondure/interpret/original_set.hpp"

namespace rondure {

// Probably not of the set, or worn: its size is shown apart.
inline bool probably_odd(const SetPartResult& part) { return part.chance_odd() > 0.5; }

// "does not fit the set: 12 to 1 that it is worn."
std::string odd_words(const OddPart& odd);

}  // namespace rondure
