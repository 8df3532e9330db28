#pragma once
#include <string>

#include "rondure/core/shown.hpp"
#include "rondure/interpret/original_set.hpp"

namespace rondure {

// The sizes in question of all parts on one line of sizes, with those they may have been drawn as. Empty when they
// are not of about one size.
std::string set_chart(const SetResult& set, const LengthWords& words);

// The size in question of a part; null: the part has no answer to it.
const OriginalFeature* size_in_question(const SetPartResult& part);

}  // namespace rondure
