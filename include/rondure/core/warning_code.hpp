// The warnings on which something depends: whether a caution is due, whether a sentence has been said. Their words in
// Warning::code are the file format's; text decides nothing. Every other code is kOther.
#pragma once
#include <string_view>

#include "rondure/core/warning.hpp"

namespace rondure {

enum class WarningCode {
  kOther,
  kEccentricity,   // how far a bore or step lies off its outside: a finding, not a caution
  kClippedLight,   // light beside the edge at full scale
  kFlanksDiffer,   // a side view's two flanks do not agree
  kSizeUndecided,  // of a plan: the original that is made is not decided
};

std::string_view word(WarningCode code);  // "eccentricity"; empty for kOther
WarningCode code_of(const Warning& warning);
// Whether a person has to take care; a finding that only stands among the warnings is none.
bool is_caution(const Warning& warning);

}  // namespace rondure
