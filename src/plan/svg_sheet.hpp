// Lines, arrows, dimensions and tolerance frames as SVG elements. Sheet coordinates in mm, y down.
#pragma once
#include <Eigen/Core>
#include <string>
#include <string_view>
#include <vector>

namespace rondure::plan {

struct At {
  double x = 0, y = 0;
};

class SvgSheet {
public:
  enum class Line { kThick, kThin, kCentre };

  void line(At from, At to, Line kind = Line::kThin);
  void path(const std::string& d, Line kind = Line::kThick);
  void closed(const std::vector<At>& points, Line kind = Line::kThick);
  void arrow_head(At tip, At from);  // filled, pointing away from `from`
  // anchor: start | middle | end; turned by 90 degrees to read from the right when `upright` is false
  void text(At at, std::string_view words, double size = 2.6, std::string_view anchor = "start",
            bool upright = true, bool bold = false);
  // Lines at 45 degrees inside the closed polygon.
  void hatch(const std::vector<At>& polygon, double spacing = 1.8);

  // Dimension between two points on a vertical line at `x`, extension lines from the points; text reads from
  // the right, in the middle, or above the upper arrow where it is longer than the dimension.
  void vertical_dimension(double x, At a, At b, const std::string& first, const std::string& second);
  // Dimension on a horizontal line at `y` below the points; where the text does not fit between, it stands
  // beside, to the left or right.
  void horizontal_dimension(double y, At a, At b, const std::string& first, const std::string& second,
                            bool beside_left = false);
  // Would the text fit between two arrows so far apart?
  static bool fits_between(double distance, const std::string& first, const std::string& second);

  // ISO 1101 frames; the point is the left middle. Returns the width.
  double roundness_frame(At at, const std::string& value);
  double run_out_frame(At at, const std::string& value, const std::string& datum);
  // Datum triangle with its base on the extension line at `foot`, the letter in a box below.
  void datum(At foot, const std::string& letter);

  // A part of the sheet under a name: "drawing.svg#name" shows it alone (SVG 2, fragment identifiers).
  void view(std::string_view name, At corner, double width, double height);

  // The whole document; title and description for those who cannot see it.
  std::string document(double width, double height, std::string_view title,
                       std::string_view description) const;

private:
  double frame_boxes(At at, const std::vector<std::string>& cells);
  std::string body_, labels_;  // labels are drawn last, over the lines
};

}  // namespace rondure::plan
