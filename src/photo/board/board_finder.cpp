#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "photo/board/board_assembly.hpp"
#include "rondure/photo/board.hpp"

namespace rondure {
namespace {

// By judgement; what comes of them is checked by tests/bench/study_board_plane and study_board_covered.
constexpr int kSearchSide_px = 1280;        // longer side of the first, reduced picture that is searched
constexpr std::size_t kLeastCorners = 9;    // three by three: 18 equations for a plane's 8 numbers
constexpr double kMostBent_squares = 0.12;  // rms from the map of a flat board, of one that is not seen whole

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
  cv::Mat image;
  std::vector<Saddle> saddles;
  Assembly found;
  std::size_t corners() const { return found.lattice.nodes.size(); }
};

Search search(const Picture& picture, double shrink, const BoardSize& size) {
  Search s;
  s.image = reduced(picture, shrink);
  s.saddles = find_saddles(s.image);
  s.found = assemble(grow_lattices(s.image, s.saddles), s.saddles, s.image, size);
  return s;
}

struct Counts {
  int columns = 0, rows = 0;
};
Counts counts_of(const Lattice& lattice) {
  Counts extent;
  for (const auto& [node, saddle] : lattice.nodes)
    extent.columns = std::max(extent.columns, node.first + 1),
    extent.rows = std::max(extent.rows, node.second + 1);
  return extent;
}

// Drops the emptiest outer line of corners when it holds less than 60 % of them: a chance saddle beyond the
// board.
bool drop_sparse_line(Search& s) {
  struct Line {
    bool column;
    int at;
    double filled;
  };
  Lattice& lattice = s.found.lattice;
  const Counts extent = counts_of(lattice);
  std::optional<Line> emptiest;
  for (const bool column : {true, false})
    for (const int at : {0, (column ? extent.columns : extent.rows) - 1}) {
      const auto count = std::count_if(lattice.nodes.begin(), lattice.nodes.end(), [&](const auto& n) {
        return (column ? n.first.first : n.first.second) == at;
      });
      const double filled = static_cast<double>(count) / (column ? extent.rows : extent.columns);
      if (filled < 0.6 && (!emptiest || filled < emptiest->filled)) emptiest = Line{column, at, filled};
    }
  if (!emptiest) return false;
  std::vector<Lattice> kept(1);
  for (const auto& [node, saddle] : lattice.nodes)
    if ((emptiest->column ? node.first : node.second) != emptiest->at) kept[0].nodes[node] = saddle;
  if (kept[0].nodes.empty()) return false;
  s.found = assemble(kept, s.saddles, s.image, {0, 0, 1});  // as it is: nothing may come back
  return true;
}

// Was the outer edge of the board seen beyond the last line of corners in direction (dc, dr)? The border's
// black squares must end one square out: black at 0.85, light at 1.15.
bool border_seen(const Search& s, const FoundBoard& board, int dc, int dr) {
  if (!s.found.map) return false;
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
    if (!board.black(a, b) || !s.found.lattice.nodes.count({c0, r0}) ||
        !s.found.lattice.nodes.count({c1, r1}))
      continue;
    const Eigen::Vector2d between((c0 + c1) / 2.0, (r0 + r1) / 2.0), out(dc, dr);
    const auto sample = [&](double squares) {
      return mean_3x3(s.image, s.found.map->pixel(between + squares * out));
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

FoundBoard board_of(const Search& s, const Picture& picture) {
  FoundBoard board;
  const Counts extent = counts_of(s.found.lattice);
  board.columns = extent.columns, board.rows = extent.rows;
  board.first_square_black = s.found.first_square_black;
  const double sx = static_cast<double>(picture.width_px) / s.image.cols,
               sy = static_cast<double>(picture.height_px) / s.image.rows;
  for (const auto& [node, index] : s.found.lattice.nodes) {
    const Eigen::Vector2d& at = s.saddles[static_cast<std::size_t>(index)].at;
    board.corners.push_back(
        {node.first, node.second, {(at.x() + 0.5) * sx - 0.5, (at.y() + 0.5) * sy - 0.5}});
  }
  board.border_left = border_seen(s, board, -1, 0);
  board.border_right = border_seen(s, board, 1, 0);
  board.border_top = border_seen(s, board, 0, -1);
  board.border_bottom = border_seen(s, board, 0, 1);
  return board;
}

// The shortest step from corner to corner.
double least_step_px(const FoundBoard& board) {
  std::map<std::pair<int, int>, PixelPoint> at;
  for (const BoardCorner& c : board.corners) at[{c.column, c.row}] = c.at;
  double step = 1e9;
  for (const BoardCorner& c : board.corners)
    for (const auto& next : {std::pair{c.column + 1, c.row}, {c.column, c.row + 1}})
      if (const auto found = at.find(next); found != at.end())
        step = std::min(step, std::hypot(found->second.x_px - c.at.x_px, found->second.y_px - c.at.y_px));
  return step;
}

// Corners refined at full size, as far as a quarter of a square reaches.
void refine_corners(const Picture& picture, FoundBoard& board) {
  const double step = least_step_px(board);
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

std::string size_text(int columns, int rows) { return std::to_string(columns) + "x" + std::to_string(rows); }
std::string asked_for(const BoardSize& size) { return "needed one of " + size.text() + " inner corners"; }

bool too_large(const Counts& found, const BoardSize& size) {
  return std::max(found.columns, found.rows) > std::max(size.columns, size.rows) ||
         std::min(found.columns, found.rows) > std::min(size.columns, size.rows);
}

Result<void> enough_found(const Search& s, const BoardSize& size) {
  const Counts extent = counts_of(s.found.lattice);
  if (s.corners() >= kLeastCorners && extent.columns >= 3 && extent.rows >= 3) return {};
  if (s.found.uncounted.empty())
    return Error{ErrorCode::kNoBoard, asked_for(size) + ", in focus, with white paper round it"};
  std::string pieces = std::to_string(s.corners());
  for (const int more : s.found.uncounted) pieces += " + " + std::to_string(more);
  return Error{ErrorCode::kNoBoard,
               "found " + pieces +
                   " corners in pieces, and no telling how many squares lie covered between them; " +
                   asked_for(size) + ", two lines of corners or more left in each piece"};
}

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
    return Error{ErrorCode::kBadArgument,
                 "board size '" + std::string(text) + "'; needed inner corners, columns x rows, like 9x6"};
  if (size.columns < 3 || size.rows < 3 || size.columns > 200 || size.rows > 200)
    return Error{ErrorCode::kBadArgument,
                 "board size '" + std::string(text) + "'; needed 3 to 200 inner corners each way"};
  if (!(square_mm > 0) || !std::isfinite(square_mm))
    return Error{ErrorCode::kBadArgument, "the board's square must be longer than 0"};
  return size;
}

std::vector<PixelPoint> corner_like_places(const Picture& picture) {
  const double longest = std::max(picture.width_px, picture.height_px);
  const cv::Mat image = reduced(picture, std::max(1.0, longest / kSearchSide_px));
  const double sx = static_cast<double>(picture.width_px) / image.cols,
               sy = static_cast<double>(picture.height_px) / image.rows;
  std::vector<PixelPoint> places;
  for (const Saddle& saddle : find_saddles(image))
    places.push_back({(saddle.at.x() + 0.5) * sx - 0.5, (saddle.at.y() + 0.5) * sy - 0.5});
  return places;
}

Result<FoundBoard> find_board(const Picture& picture, const BoardSize& size) {
  const double longest = std::max(picture.width_px, picture.height_px);
  const auto wanted = static_cast<std::size_t>(size.columns * size.rows);
  Search best;
  for (const double side : {1.0, 2.0, 4.0}) {
    const double shrink = std::max(1.0, longest / (side * kSearchSide_px));
    Search s = search(picture, shrink, size);
    if (s.corners() > best.corners()) best = std::move(s);
    if (best.corners() >= wanted || shrink <= 1) break;
    if (best.corners() >= kLeastCorners && side >= 2) break;
  }
  // Squares that light or print made smaller or larger no longer touch at their corners: smaller still, they
  // do.
  if (best.corners() < kLeastCorners)
    best = search(picture, 2 * std::max(1.0, longest / kSearchSide_px), size);
  if (const auto told = enough_found(best, size); !told) return told.error();
  if (best.corners() < wanted && best.found.map && best.found.map->rms_squares() > kMostBent_squares)
    return Error{ErrorCode::kNoBoard,
                 "found " + std::to_string(best.corners()) + " corners that lie on no flat board (off by a " +
                     std::to_string(static_cast<int>(1 / best.found.map->rms_squares())) +
                     "th of a square); " + asked_for(size)};
  while (too_large(counts_of(best.found.lattice), size) && drop_sparse_line(best)) {
  }
  FoundBoard board = board_of(best, picture);
  const auto fits = [&](int columns, int rows) {
    return board.columns <= columns && board.rows <= rows &&
           !(board.border_left && board.border_right && board.columns != columns) &&
           !(board.border_top && board.border_bottom && board.rows != rows);
  };
  constexpr int kAnySize = 1000;  // asked with so many: whatever is seen
  if (size.columns < kAnySize && !fits(size.columns, size.rows) && !fits(size.rows, size.columns))
    return Error{ErrorCode::kBoardMismatch,
                 "found " + size_text(board.columns, board.rows) + " inner corners; " + asked_for(size)};
  refine_corners(picture, board);
  return board;
}

}  // namespace rondure
