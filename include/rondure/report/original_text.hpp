// The inferred original sizes as text for a terminal: candidates with bars, both units, what drives the
// answer, what to measure next.
#pragma once
#include <string>

#include "rondure/core/shown.hpp"
#include "rondure/interpret/original.hpp"

namespace rondure {

std::string original_text(const OriginalResult& result, const TextOptions& options = {});

// How far a measurement would help, in words: from what it is expected to tell (bits), against the best of the list.
std::string help_words(double gain_bits, double best_bits);

}  // namespace rondure
