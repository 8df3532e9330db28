// Places one round edge along its band: per sector the displacement from the predicted outline, with its
// uncertainty.
#pragma once
#include <vector>

#include "photo/edge/edge_band.hpp"

namespace rondure {

struct PlacedSector {
  int sector = 0;
  double displacement_px = 0;  // outwards; curvature corrected
  double sigma_px = 0;
};

struct PlacedEdge {
  std::vector<PlacedSector> sectors;
  double blur_px = 0, u_blur_px = 0;
  double dark_light = 0, bright_light = 0;  // medians over the edge
  double noise_dark = 0, noise_bright = 0;  // standard deviation of a sample, light
  double clipped_share = 0;
  double clipping_shift_px = 0;  // mean displacement with clipping ignored minus with it modelled
  double u_clipping_px = 0;      // standard uncertainty of that, from the fit alone
  int sectors_missing = 0;       // no edge there, or one that does not fit the model
};

// Empty sectors when there is no edge of that direction.
PlacedEdge place_edge(const EdgeBand& band, bool dark_inside);

}  // namespace rondure
