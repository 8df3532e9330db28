// Edges of a reduced picture as chains of points, with the direction in which it grows brighter. For finding,
// not for measuring: a point is right to about 0.1 px of the reduced picture.
#pragma once
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct Edgel {
  PixelPoint at;                     // in the full picture
  float bright_x = 0, bright_y = 0;  // unit vector towards the bright side, picture axes
  float strength = 0;                // grey levels (of 255) per reduced pixel
};

struct EdgeChains {
  int reduction = 1;          // full pixels per reduced pixel
  std::vector<Edgel> edgels;  // chain after chain
  std::vector<int> starts;    // chain i is edgels[starts[i]] ... edgels[starts[i + 1] - 1]
  double noise = 0;           // robust noise of the gradient, grey levels per reduced pixel
};

// The picture is averaged in blocks so that no side is longer than `longest_side_px`.
EdgeChains find_edge_chains(const Picture& picture, int longest_side_px = 1600);

}  // namespace rondure
