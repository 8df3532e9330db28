// The original sizes of a set as text for a terminal: one line a part and size, alone beside with the set,
// then the parts that do not fit.
#pragma once
#include <string>

#include "rondure/core/ink.hpp"
#include "rondure/interpret/original_set.hpp"

namespace rondure {

std::string set_text(const SetResult& set, const Ink& ink = plain_ink);

}  // namespace rondure
