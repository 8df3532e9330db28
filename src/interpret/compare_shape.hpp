// Harmonics of two outlines as vectors a exp(i k phase), for compare.cpp.
#pragma once
#include <span>
#include <vector>

#include "rondure/interpret/compare.hpp"

namespace rondure {

// Orders that both have; B is turned back by turn_rad first.
std::vector<HarmonicChange> compare_harmonics(std::span<const HarmonicResult> a,
                                              std::span<const HarmonicResult> b, double turn_rad);
// The same surface of the part in both records.
struct OutlinePair {
  std::span<const HarmonicResult> a, b;
};
// The one turn of B against A, in [0, 2 pi), that leaves the least difference over all surfaces together,
// weighted by the uncertainties; 0 without common orders. Not unique for a pure oval (half turns) or a single
// order k (turns by 360/k): surfaces of different shape settle it.
double find_turn(std::span<const OutlinePair> pairs);
// True when the shapes differ as they lie (5 %), and no longer do once B is turned.
bool looks_turned(std::span<const OutlinePair> pairs);

}  // namespace rondure
