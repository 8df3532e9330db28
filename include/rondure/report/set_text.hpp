// The original sizes of a set as text for a terminal: one line a part and size, alone beside with the set,
// then the parts that do not fit.
#pragma once
#include <string>

#include "rondure/core/shown.hpp"
#include "rondure/interpret/original_set.hpp"

namespace rondure {

std::string set_text(const SetResult& set, const TextOptions& options = {});

}  // namespace rondure
