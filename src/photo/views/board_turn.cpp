#include "photo/views/board_turn.hpp"

#include <cmath>

namespace rondure {
namespace {

// More than 0: the square right of and below the first inner corner is the light one.
double light_of_first_square(const Picture& picture, const MeasuringPlane& board) {
  const BoardSquares& squares = *board.board_squares;
  double sum = 0;
  for (int column = 0; column + 1 < squares.columns; ++column)
    for (int row = 0; row + 1 < squares.rows; ++row) {
      const auto px =
          pixel_from_part(board, {(column + 0.5) * squares.square_mm, -(row + 0.5) * squares.square_mm});
      if (!px) continue;
      const int x = static_cast<int>(std::lround(px->x_px)), y = static_cast<int>(std::lround(px->y_px));
      if (x < 0 || y < 0 || x >= picture.width_px || y >= picture.height_px) continue;
      // against the square to its right: light falls off slowly
      const auto beside =
          pixel_from_part(board, {(column + 1.5) * squares.square_mm, -(row + 0.5) * squares.square_mm});
      if (!beside || column + 2 >= squares.columns) continue;
      const int bx = static_cast<int>(std::lround(beside->x_px)),
                by = static_cast<int>(std::lround(beside->y_px));
      if (bx < 0 || by < 0 || bx >= picture.width_px || by >= picture.height_px) continue;
      sum += ((column + row) % 2 == 0 ? 1.0 : -1.0) * (picture.at(x, y) - picture.at(bx, by));
    }
  return sum;
}

}  // namespace

Eigen::Matrix2d BoardTurn::rotation() const {
  static constexpr int kCos[4] = {1, 0, -1, 0}, kSin[4] = {0, 1, 0, -1};
  Eigen::Matrix2d r;
  r << kCos[quarters], -kSin[quarters], kSin[quarters], kCos[quarters];
  return r;
}

RoundWall BoardTurn::wall_in_view(const RoundWall& wall) const {
  RoundWall turned = wall;
  turned.center = view_from_first(wall.center);
  if (quarters % 2 == 1) turned.oval = -wall.oval;
  return turned;
}

std::vector<BoardTurn> board_turns(const Picture& first, const MeasuringPlane& first_board,
                                   const Picture& view, const MeasuringPlane& view_board) {
  if (!first_board.board_squares || !view_board.board_squares) return {BoardTurn{}};
  const BoardSquares &a = *first_board.board_squares, &b = *view_board.board_squares;
  const bool first_light = light_of_first_square(first, first_board) > 0,
             view_light = light_of_first_square(view, view_board) > 0;
  std::vector<BoardTurn> turns;
  for (const int quarters : {0, 1, 3, 2}) {
    const bool swapped = quarters % 2 == 1;
    if ((swapped ? b.rows : b.columns) != a.columns || (swapped ? b.columns : b.rows) != a.rows) continue;
    BoardTurn turn{quarters, Eigen::Vector2d::Zero()};
    // The middle of the inner corners is one place.
    const Eigen::Vector2d middle_a(0.5 * (a.columns - 1) * a.square_mm, -0.5 * (a.rows - 1) * a.square_mm),
        middle_b(0.5 * (b.columns - 1) * b.square_mm, -0.5 * (b.rows - 1) * b.square_mm);
    turn.shift = middle_a - turn.rotation() * middle_b;
    const Eigen::Vector2d square =
        turn.first_from_view({0.5 * b.square_mm, -0.5 * b.square_mm}) / a.square_mm;
    const int column = static_cast<int>(std::floor(square.x())),
              row = static_cast<int>(std::floor(-square.y()));
    const bool same_colour = (column + row) % 2 == 0;
    if ((view_light == first_light) == same_colour) turns.push_back(turn);
  }
  return turns;
}

}  // namespace rondure
