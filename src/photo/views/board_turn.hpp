// Two pictures of one board from different sides: each names its corners as it sees them, so their frames differ by
// quarter turns. The colours of the squares tell most of these apart. Lengths mm.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "photo/solid/seen_outline.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

// A point of this view's board frame, in the frame of the first view: R p + shift.
struct BoardTurn {
  int quarters = 0;  // counter-clockwise
  Eigen::Vector2d shift = Eigen::Vector2d::Zero();

  Eigen::Matrix2d rotation() const;
  Eigen::Vector2d first_from_view(const Eigen::Vector2d& p) const { return rotation() * p + shift; }
  Eigen::Vector2d view_from_first(const Eigen::Vector2d& p) const {
    return rotation().transpose() * (p - shift);
  }
  RoundWall wall_in_view(const RoundWall& wall) const;
};

// Those that fit the squares' number and colours; the least turned first. Without boards: no turn.
std::vector<BoardTurn> board_turns(const Picture& first, const MeasuringPlane& first_board,
                                   const Picture& view, const MeasuringPlane& view_board);

}  // namespace rondure
