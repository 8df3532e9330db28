// Roundness as the terminal and the page tell it: one set of words.
#pragma once
#include <string>

#include "rondure/core/shown.hpp"
#include "rondure/interpret/feature.hpp"

namespace rondure {

// "0.0121 LSCI, 0.0118 MZCI ..." (ISO 12181-1: RONt about each reference circle found); empty where none was.
std::string roundness_figures(const RoundnessResult& roundness, const LengthWords& words);

// "noise alone: 0.0040", or that it would show as much where it is not below what was measured: the points are taken to be
// worse than this outline shows them, and a figure would promise more than is known. Empty where the noise is not known.
std::string noise_beside_roundness(const RoundnessResult& roundness, const LengthWords& words);

}  // namespace rondure
