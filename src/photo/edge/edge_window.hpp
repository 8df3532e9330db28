// How far either side of an edge the light keeps its level, and a first look at contrast and blur.
#pragma once
#include <vector>

#include "photo/edge/edge_band.hpp"

namespace rondure {

// A window so wide, in blurs of a soft edge, knows the levels well enough to cost a twentieth of the
// precision.
constexpr double kWindowBlurs = 12;

struct EdgeWindow {
  double inner_px = 8, outer_px = 8;  // either side of the sectors' middles
  double contrast = 0;                // light, signed so that the wanted edge's is positive
  double blur_px = 1;
};

// From the median profile of all sectors; `middles` not a number: sector without edge.
EdgeWindow edge_window(const EdgeBand& band, const std::vector<double>& middles, double sign);

}  // namespace rondure
