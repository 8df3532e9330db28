#pragma once
#include <string>

#include "rondure/interpret/original_set.hpp"

namespace rondure {

// The grids of the likelier unit system that hold a fair share of the sizes, largest first: "0.5 mm 61 %, 1 mm 20 %".
// Empty when the habits were told.
std::string habit_words(const SetResult& set);

}  // namespace rondure
