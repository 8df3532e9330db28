// The printed chessboard and how it is found in a picture.
//
// A board of columns x rows INNER corners has (columns + 1) x (rows + 1) squares of equal size; white paper
// shows round it. Board frame: origin at the upper left inner corner as seen in the picture, x to the right,
// y UP, mm; which of the board's four sides is "up" is decided by the picture (x runs along the lines that
// are nearest to the picture's rows).
//
// Finding: saddle points of the smoothed picture (determinant of the Hessian < 0) whose surroundings change
// four times between black and white, grown into lattices neighbour by neighbour along sides that are seen;
// colours must alternate. The board may be partly out of the picture, and covered: pieces that do not hang
// together are joined when exactly one number of squares between them fits all their corners (one homography
// and one radial bend) and the board's size. At least nine corners, three columns and three rows in all; each
// piece four corners, those of the largest not all on one line. Squares of 10 px or more.
#pragma once
#include <Eigen/Core>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct BoardSize {
  int columns = 0, rows = 0;  // inner corners, each >= 3
  double square_mm = 0;
  std::string text() const { return std::to_string(columns) + "x" + std::to_string(rows); }
};
// "9x6". Errors: kBadArgument.
Result<BoardSize> parse_board_size(std::string_view text, double square_mm);

struct BoardCorner {
  int column = 0, row = 0;  // of the lattice below: column to the right, row DOWN
  PixelPoint at;            // to about 0.1 px
};

// A lattice of columns x rows inner corners (as seen: perhaps turned by a quarter, perhaps only the visible
// part).
struct FoundBoard {
  int columns = 0, rows = 0;
  std::vector<BoardCorner> corners;  // those that were found, each once
  bool first_square_black = true;    // the square above and left of corner (0, 0)
  // The outer edge of the board was seen on this side, with white paper beyond: left, right, top, bottom.
  bool border_left = false, border_right = false, border_top = false, border_bottom = false;
  bool whole(const BoardSize& board) const {
    return (columns == board.columns && rows == board.rows) ||
           (columns == board.rows && rows == board.columns);
  }
  // Square (a, b) lies between corners a, a + 1 and b, b + 1; the border squares are a or b = -1 and columns
  // - 1, rows - 1.
  bool black(int a, int b) const { return ((a + b) % 2 == 0) == first_square_black; }
};

// Errors: kNoBoard (its detail: how many corners in which pieces, when there are any); kBoardMismatch when a
// board of another size is seen whole, or a larger one.
Result<FoundBoard> find_board(const Picture& picture, const BoardSize& board);
// For telling why there is none: the places that look like a board's inner corners, whether or not they hang together.
std::vector<PixelPoint> corner_like_places(const Picture& picture);

}  // namespace rondure
