// Saddle points of a picture: where four quarters meet, two light and two dark, as at a chessboard's inner
// corners.
#pragma once
#include <Eigen/Core>
#include <opencv2/core.hpp>
#include <optional>
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

// Difference of two axes (mod pi), in [-pi/2, pi/2).
double axis_difference(double a, double b);
// Angle between a direction and the nearer of the saddle's two lines.
double misalignment(const Saddle& saddle, double direction_rad);
// Is the side of `direction` towards growing angles (x towards y) light at this saddle?
bool light_after(const Saddle& saddle, double direction_rad);

// Empty at the picture's rim and beyond.
std::optional<double> mean_3x3(const cv::Mat& grey8, const Eigen::Vector2d& at);

}  // namespace rondure
