#include <algorithm>
#include <charconv>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "board_lattice.hpp"
#include "rondure/photo/board.hpp"

namespace rondure {
namespace {

constexpr int kSearchSide_px = 1280;  // longer side of the first, reduced picture that is searched
constexpr std::size_t kLeastCorners = 9;

cv::Mat reduced(const Picture& picture, double shrink) {
  cv::Mat grey;
  if (picture.bits == 8) {
    grey =
        cv::Mat(picture.height_px, picture.width_px, CV_8U, const_cast<std::uint8_t*>(picture.grey8.data()));
  } else {
    const cv::Mat deep(picture.height_px, picture.width_px, CV_16U,
                       const_cast<std::uint16_t*>(picture.grey16.data()));
    deep.convertTo(grey, CV_8U, 1 / 257.0);
  }
  if (shrink <= 1) return grey;
  cv::Mat small;
  cv::resize(grey, small,
             {static_cast<int>(picture.width_px / shrink), static_cast<int>(picture.height_px / shrink)}, 0,
             0, cv::INTER_AREA);
  return small;
}

struct Search {
  FoundBoard board;
  cv::Mat image;
  std::vector<Saddle> saddles;
  Lattice lattice;
};

// Position of a lattice place, continued linearly beyond the corners found; empty when its neighbourhood is
// unknown.
class LatticeMap {
public:
  explicit LatticeMap(const Search& s) : s_(s) {}
  std::optional<Eigen::Vector2d> corner(int column, int row) const {
    const auto found = s_.lattice.nodes.find({column, row});
    if (found == s_.lattice.nodes.end()) return {};
    return s_.saddles[static_cast<std::size_t>(found->second)].at;
  }
  // The place `beyond` squares from corner (column, row) in the direction (dc, dr), away from its inner
  // neighbour.
  std::optional<Eigen::Vector2d> beyond(int column, int row, int dc, int dr, double squares) const {
    const auto here = corner(column, row), inner = corner(column - dc, row - dr);
    if (!here || !inner) return {};
    return Eigen::Vector2d(*here + squares * (*here - *inner));
  }

private:
  const Search& s_;
};

std::optional<double> sampled(const cv::Mat& image, const Eigen::Vector2d& at) {
  const int x = static_cast<int>(std::lround(at.x())), y = static_cast<int>(std::lround(at.y()));
  if (x < 1 || y < 1 || x >= image.cols - 1 || y >= image.rows - 1) return {};
  int sum = 0;
  for (int dy = -1; dy <= 1; ++dy)
    for (int dx = -1; dx <= 1; ++dx) sum += image.at<std::uint8_t>(y + dy, x + dx);
  return sum / 9.0;
}

// Was the outer edge of the board seen beyond the last line of corners in direction (dc, dr)? The border's
// black squares must end one square out: black at 0.85, light at 1.15.
bool border_seen(const Search& s, int dc, int dr) {
  const LatticeMap map(s);
  const FoundBoard& board = s.board;
  const bool along_rows = dc != 0;
  const int last_column = dc > 0 ? board.columns - 1 : 0, last_row = dr > 0 ? board.rows - 1 : 0;
  const int count = along_rows ? board.rows : board.columns;
  int ends = 0, examined = 0;
  for (int i = 0; i + 1 < count; ++i) {
    const int c0 = along_rows ? last_column : i, r0 = along_rows ? i : last_row;
    const int c1 = along_rows ? c0 : i + 1, r1 = along_rows ? i + 1 : r0;
    // Border square between corners i and i + 1, and the inner square on the other side of the line of
    // corners.
    const int a = along_rows ? (dc > 0 ? board.columns - 1 : -1) : i,
              b = along_rows ? i : (dr > 0 ? board.rows - 1 : -1);
    if (!board.black(a, b)) continue;
    const auto sample = [&](double squares) -> std::optional<double> {
      const auto p = map.beyond(c0, r0, dc, dr, squares), q = map.beyond(c1, r1, dc, dr, squares);
      if (!p || !q) return {};
      return sampled(s.image, (*p + *q) / 2);
    };
    const auto light = sample(-0.5), dark = sample(0.5), inside = sample(0.8), outside = sample(1.2),
               further = sample(1.5);
    if (!light || !dark || !inside || !outside || *light - *dark < 15) continue;
    ++examined;
    const double middle = (*light + *dark) / 2;
    if (*inside<middle&& * outside> middle && (!further || *further > middle)) ++ends;
  }
  return examined >= 2 && ends >= 0.7 * examined;
}

Search search(const Picture& picture, double shrink) {
  Search s;
  s.image = reduced(picture, shrink);
  s.saddles = find_saddles(s.image);
  s.lattice = grow_lattice(s.saddles);
  if (s.lattice.nodes.size() < kLeastCorners) return s;
  const double sx = static_cast<double>(picture.width_px) / s.image.cols,
               sy = static_cast<double>(picture.height_px) / s.image.rows;
  int votes = 0;
  for (const auto& [node, index] : s.lattice.nodes) {
    const Saddle& saddle = s.saddles[static_cast<std::size_t>(index)];
    s.board.columns = std::max(s.board.columns, node.first + 1);
    s.board.rows = std::max(s.board.rows, node.second + 1);
    s.board.corners.push_back(
        {node.first, node.second, {(saddle.at.x() + 0.5) * sx - 0.5, (saddle.at.y() + 0.5) * sy - 0.5}});
    // Which of the corner's lines is the column axis: the one nearer to the picture's rows, as the lattice
    // was turned.
    const auto next = s.lattice.nodes.find({node.first + 1, node.second});
    if (next == s.lattice.nodes.end()) continue;
    const Eigen::Vector2d d = s.saddles[static_cast<std::size_t>(next->second)].at - saddle.at;
    const double along = std::atan2(d.y(), d.x());
    const auto off = [&](double line) { return std::abs(std::remainder(along - line, std::numbers::pi)); };
    // The quarter after the column axis (below, right) is light when ...
    const bool below_right_light =
        off(saddle.line_rad[0]) < off(saddle.line_rad[1]) ? saddle.light_between : !saddle.light_between;
    const bool even = (node.first + node.second) % 2 == 0;
    votes +=
        below_right_light == even ? -1 : 1;  // the first corner's quarters: below right is like above left
  }
  s.board.first_square_black = votes > 0;
  return s;
}

// Corners refined at full size, as far as a quarter of a square reaches.
void refine_corners(const Picture& picture, FoundBoard& board) {
  double step = 1e9;
  for (std::size_t i = 1; i < board.corners.size(); ++i) {
    const auto &a = board.corners[i - 1], &b = board.corners[i];
    if (std::abs(a.column - b.column) + std::abs(a.row - b.row) == 1)
      step = std::min(step, std::hypot(a.at.x_px - b.at.x_px, a.at.y_px - b.at.y_px));
  }
  const int half = std::clamp(static_cast<int>(0.22 * step), 2, 15);
  double x0 = 1e9, y0 = 1e9, x1 = 0, y1 = 0;
  for (const auto& c : board.corners) {
    x0 = std::min(x0, c.at.x_px), x1 = std::max(x1, c.at.x_px);
    y0 = std::min(y0, c.at.y_px), y1 = std::max(y1, c.at.y_px);
  }
  const int pad = half + 12;
  const cv::Rect whole(0, 0, picture.width_px, picture.height_px);
  const cv::Rect box = cv::Rect(static_cast<int>(x0) - pad, static_cast<int>(y0) - pad,
                                static_cast<int>(x1 - x0) + 2 * pad, static_cast<int>(y1 - y0) + 2 * pad) &
                       whole;
  const cv::Mat full = picture.bits == 8 ? cv::Mat(picture.height_px, picture.width_px, CV_8U,
                                                   const_cast<std::uint8_t*>(picture.grey8.data()))
                                         : reduced(picture, 1);
  std::vector<cv::Point2f> points;
  for (const auto& c : board.corners)
    points.emplace_back(static_cast<float>(c.at.x_px - box.x), static_cast<float>(c.at.y_px - box.y));
  cv::cornerSubPix(full(box), points, {half, half}, {-1, -1},
                   {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 20, 0.01});
  for (std::size_t i = 0; i < points.size(); ++i) {
    PixelPoint& at = board.corners[i].at;
    const double x = static_cast<double>(points[i].x) + box.x, y = static_cast<double>(points[i].y) + box.y;
    if (std::hypot(x - at.x_px, y - at.y_px) < 0.15 * step) at = {x, y};
  }
}

// Drops the emptiest outer line of corners when it holds less than 60 % of them: a chance saddle beyond the
// board.
bool drop_sparse_line(FoundBoard& board, Lattice& lattice) {
  struct Line {
    bool column;
    int at;
    double filled;
  };
  std::optional<Line> emptiest;
  for (const bool column : {true, false})
    for (const int at : {0, (column ? board.columns : board.rows) - 1}) {
      const auto count = std::count_if(board.corners.begin(), board.corners.end(), [&](const BoardCorner& c) {
        return (column ? c.column : c.row) == at;
      });
      const double filled = static_cast<double>(count) / (column ? board.rows : board.columns);
      if (filled < 0.6 && (!emptiest || filled < emptiest->filled)) emptiest = Line{column, at, filled};
    }
  if (!emptiest) return false;
  const int shift = emptiest->at == 0 ? 1 : 0;
  std::erase_if(board.corners,
                [&](const BoardCorner& c) { return (emptiest->column ? c.column : c.row) == emptiest->at; });
  for (BoardCorner& c : board.corners) (emptiest->column ? c.column : c.row) -= shift;
  Lattice kept;
  for (const auto& [node, saddle] : lattice.nodes)
    if ((emptiest->column ? node.first : node.second) != emptiest->at)
      kept.nodes[{node.first - (emptiest->column ? shift : 0),
                  node.second - (emptiest->column ? 0 : shift)}] = saddle;
  lattice = kept;
  --(emptiest->column ? board.columns : board.rows);
  if (shift) board.first_square_black = !board.first_square_black;
  return true;
}

std::string size_text(int columns, int rows) { return std::to_string(columns) + "x" + std::to_string(rows); }

}  // namespace

Result<BoardSize> parse_board_size(std::string_view text, double square_mm) {
  const auto x = text.find_first_of("xX*");
  BoardSize size{0, 0, square_mm};
  const auto number = [](std::string_view t, int& out) {
    const auto [end, error] = std::from_chars(t.data(), t.data() + t.size(), out);
    return error == std::errc() && end == t.data() + t.size();
  };
  if (x == std::string_view::npos || !number(text.substr(0, x), size.columns) ||
      !number(text.substr(x + 1), size.rows))
    return Error{ErrorCode::kBadArgument, "board size '" + std::string(text) +
                                              "'; needed are inner corners, columns x rows, like 9x6"};
  if (size.columns < 3 || size.rows < 3 || size.columns > 200 || size.rows > 200)
    return Error{ErrorCode::kBadArgument,
                 "board size '" + std::string(text) + "'; needed are 3 to 200 inner corners each way"};
  if (!(square_mm > 0) || !std::isfinite(square_mm))
    return Error{ErrorCode::kBadArgument, "the board's square must be longer than 0"};
  return size;
}

Result<FoundBoard> find_board(const Picture& picture, const BoardSize& size) {
  const double longest = std::max(picture.width_px, picture.height_px);
  const auto wanted = static_cast<std::size_t>(size.columns * size.rows);
  Search best;
  for (const double side : {1.0, 2.0, 4.0}) {
    const double shrink = std::max(1.0, longest / (side * kSearchSide_px));
    Search s = search(picture, shrink);
    if (s.board.corners.size() > best.board.corners.size()) best = std::move(s);
    if (best.board.corners.size() >= wanted || shrink <= 1) break;
    if (best.board.corners.size() >= kLeastCorners && side >= 2) break;
  }
  // Squares that light or print made smaller or larger no longer touch at their corners: smaller still, they
  // do.
  if (best.board.corners.size() < kLeastCorners)
    best = search(picture, 2 * std::max(1.0, longest / kSearchSide_px));
  FoundBoard& board = best.board;
  const std::string asked = "needed is one of " + size.text() + " inner corners";
  if (board.corners.size() < kLeastCorners || board.columns < 3 || board.rows < 3)
    return Error{ErrorCode::kNoBoard, asked + ", in focus, with white paper round it"};
  const auto too_large = [&] {
    return std::max(board.columns, board.rows) > std::max(size.columns, size.rows) ||
           std::min(board.columns, board.rows) > std::min(size.columns, size.rows);
  };
  while (too_large() && drop_sparse_line(board, best.lattice)) {
  }
  board.border_left = border_seen(best, -1, 0);
  board.border_right = border_seen(best, 1, 0);
  board.border_top = border_seen(best, 0, -1);
  board.border_bottom = border_seen(best, 0, 1);
  const auto fits = [&](int columns, int rows) {
    return board.columns <= columns && board.rows <= rows &&
           !(board.border_left && board.border_right && board.columns != columns) &&
           !(board.border_top && board.border_bottom && board.rows != rows);
  };
  if (!fits(size.columns, size.rows) && !fits(size.rows, size.columns))
    return Error{ErrorCode::kBoardMismatch,
                 "found " + size_text(board.columns, board.rows) + " inner corners; " + asked};
  refine_corners(picture, board);
  return board;
}

}  // namespace rondure
