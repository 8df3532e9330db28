// One lattice from its separate pieces, when something covers the board between them.
//
// Two pieces belong together at whole columns and rows apart, in colours that alternate, within the board's
// size. For every such place one map (homography and bend) is fitted to the corners of both; the squares
// between them are counted only when one place fits and all others miss by several times as much. Single
// corners are then taken in where the map puts them.
#pragma once
#include <optional>

#include "photo/board/board_lattice.hpp"
#include "photo/board/lattice_map.hpp"
#include "rondure/photo/board.hpp"

namespace rondure {

struct Assembly {
  Lattice lattice;                // first column and row are 0
  std::optional<LatticeMap> map;  // empty when the corners lie on one line
  bool first_square_black = true;
  std::vector<int> uncounted;  // corners of the pieces (4 or more each) that could not be placed
};
// `pieces`: of grow_lattices, largest first.
Assembly assemble(const std::vector<Lattice>& pieces, const std::vector<Saddle>& saddles,
                  const cv::Mat& grey8, const BoardSize& size);

}  // namespace rondure
