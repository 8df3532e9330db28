// Chessboard corners of a picture as lattices: growth of saddle points from neighbour to neighbour.
#pragma once
#include <Eigen/Core>
#include <map>
#include <opencv2/core.hpp>
#include <utility>
#include <vector>

#include "photo/board/board_saddles.hpp"

namespace rondure {

struct Lattice {
  std::map<std::pair<int, int>, int> nodes;  // (column, row) -> index of the saddle
};
// All lattices that hang together by sides seen in the picture, largest first, each saddle in one of them at
// most; columns run along the lines nearest to the picture's rows, to the right; rows run down.
std::vector<Lattice> grow_lattices(const cv::Mat& grey8, const std::vector<Saddle>& saddles);

// Turned by quarters: (column, row) -> (-row, column).
Lattice turned(const Lattice& lattice, int quarters);
// Direction of the columns in the picture, from all steps of the lattice together; of no meaning in its
// length.
Eigen::Vector2d column_step(const Lattice& lattice, const std::vector<Saddle>& saddles);

}  // namespace rondure
