// Chessboard corners of a picture as a lattice: saddle points, then growth from neighbour to neighbour.
#pragma once
#include <Eigen/Core>
#include <map>
#include <opencv2/core.hpp>
#include <utility>
#include <vector>

namespace rondure {

// A saddle whose ring shows four alternating quarters.
struct Saddle {
  Eigen::Vector2d at;  // px of the searched picture
  double line_rad[2];  // directions of its two edge lines, [0, pi), the second up to pi after the first
  bool light_between =
      true;             // the quarter from line_rad[0] to line_rad[1] (turning x towards y) is the light one
  double contrast = 0;  // light minus dark, 0..255
};
std::vector<Saddle> find_saddles(const cv::Mat& grey8);

struct Lattice {
  std::map<std::pair<int, int>, int> nodes;  // (column, row) -> index of the saddle
};
// The largest lattice; columns run along the lines nearest to the picture's rows, to the right; rows run
// down.
Lattice grow_lattice(const std::vector<Saddle>& saddles);

}  // namespace rondure
