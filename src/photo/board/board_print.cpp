#include "rondure/photo/board_print.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace rondure {
namespace {

constexpr double kMargin_mm = 12;  // white paper round board and page
constexpr double kBar_mm = 14;     // room for a bar with its words

std::string num(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4f", value);
  std::string out = text;
  out.erase(out.find_last_not_of('0') + 1);
  if (out.back() == '.') out.pop_back();
  return out;
}
std::string rect(double x, double y, double width, double height) {
  return "  <rect x=\"" + num(x) + "\" y=\"" + num(y) + "\" width=\"" + num(width) + "\" height=\"" +
         num(height) + "\"/>\n";
}
std::string words(double x, double y, double size, const std::string& text, const std::string& more = {}) {
  return "  <text x=\"" + num(x) + "\" y=\"" + num(y) + "\" font-size=\"" + num(size) + "\"" + more + ">" +
         text + "</text>\n";
}

// The longest whole multiple of 10 mm, at most 150 mm, in `room`.
double bar_length(double room_mm) { return std::min(150.0, 10 * std::floor(room_mm / 10)); }

}  // namespace

Result<Paper> paper_named(const std::string& given) {
  std::string name = given;
  std::transform(name.begin(), name.end(), name.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  if (name == "a4") return Paper{"A4", 210, 297};
  if (name == "a3") return Paper{"A3", 297, 420};
  if (name == "letter") return Paper{"Letter", 215.9, 279.4};
  if (name == "tabloid") return Paper{"Tabloid", 279.4, 431.8};
  return Error{ErrorCode::kBadArgument, "paper '" + given + "'; needed a4, a3, letter or tabloid"};
}

Result<std::string> board_svg(const BoardSize& board, const Paper& given) {
  const double width = (board.columns + 1) * board.square_mm, height = (board.rows + 1) * board.square_mm;
  Paper paper = given;
  const auto fits = [&] {
    return width + 2 * kMargin_mm + kBar_mm <= paper.width_mm &&
           height + 2 * kMargin_mm + kBar_mm + 8 <= paper.height_mm;
  };
  if (!fits()) std::swap(paper.width_mm, paper.height_mm);
  if (!fits())
    return Error{ErrorCode::kBadArgument,
                 "a board of " + num(width) + " x " + num(height) + " mm does not fit on " + paper.name +
                     " with 12 mm of white round it; needed a smaller square or a larger paper"};
  const double left = std::max(kMargin_mm + kBar_mm, (paper.width_mm - width) / 2), top = kMargin_mm + 8;
  std::string svg =
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" +
      num(paper.width_mm) + "mm\" height=\"" + num(paper.height_mm) + "mm\" viewBox=\"0 0 " +
      num(paper.width_mm) + " " + num(paper.height_mm) + "\" font-family=\"sans-serif\" fill=\"#000\">\n";
  svg += "  <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n";
  svg += words(kMargin_mm, kMargin_mm, 3.5,
               board.text() + " inner corners, squares of " + num(board.square_mm) +
                   " mm. Print at 100 % on " + paper.name + " (no fitting to the page).");
  // One path of squares: drawn one by one, some programs leave hairlines between touching squares.
  svg += "  <path shape-rendering=\"crispEdges\" d=\"";
  for (int b = 0; b <= board.rows; ++b)
    for (int a = 0; a <= board.columns; ++a)
      if ((a + b) % 2 == 0)
        svg += "M" + num(left + a * board.square_mm) + " " + num(top + b * board.square_mm) + "h" +
               num(board.square_mm) + "v" + num(board.square_mm) + "h-" + num(board.square_mm) + "z";
  svg += "\"/>\n";
  // Bars: thin, with end ticks; measured from tick to tick, along both directions.
  const double across = bar_length(paper.width_mm - left - kMargin_mm), bar_y = paper.height_mm - kMargin_mm;
  svg += rect(left, bar_y - 0.15, across, 0.3) + rect(left - 0.1, bar_y - 3, 0.2, 6) +
         rect(left + across - 0.1, bar_y - 3, 0.2, 6);
  for (double x = 10; x < across - 1; x += 10) svg += rect(left + x - 0.1, bar_y - 1.2, 0.2, 2.4);
  svg += words(left + 2, bar_y - 4, 3, num(across) + " mm between the outer ticks. Measured: __________ mm");
  const double down = bar_length(paper.height_mm - top - 2 * kMargin_mm), bar_x = kMargin_mm;
  svg += rect(bar_x - 0.15, top, 0.3, down) + rect(bar_x - 3, top - 0.1, 6, 0.2) +
         rect(bar_x - 3, top + down - 0.1, 6, 0.2);
  for (double y = 10; y < down - 1; y += 10) svg += rect(bar_x - 1.2, top + y - 0.1, 2.4, 0.2);
  svg += words(0, 0, 3, num(down) + " mm between the outer ticks. Measured: __________ mm",
               " transform=\"translate(" + num(bar_x + 6) + " " + num(top + 2) + ") rotate(90)\"");
  return svg + "</svg>\n";
}

}  // namespace rondure
