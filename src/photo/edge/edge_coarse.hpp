// Where along its band an edge lies, to about 0.2 px: the start of placing it.
#pragma once
#include <vector>

#include "photo/edge/edge_band.hpp"

namespace rondure {

// Per sector the displacement of the greatest rise of light (`sign` +1: light rises outwards), not a number
// where there is none. Empty when the whole band shows no edge.
std::vector<double> coarse_places(const EdgeBand& band, double sign);

// The smooth outline (three undulations and less) through `coarse`, at every sector.
std::vector<double> smooth_places(const std::vector<double>& coarse);

// Middles of the sectors' windows: they follow a smooth outline (three undulations and less) but for nibs and
// chips, which keep their own place. Not a number where `coarse` is.
std::vector<double> window_middles(const std::vector<double>& coarse);

}  // namespace rondure
