#include "photo/board/board_saddles.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement; what comes of them all is checked by
// tests/bench/study_board_plane and study_board_covered. Lengths are px of the reduced picture.
constexpr double kSmoothing_px = 1.4;  // of the picture before its second derivatives
constexpr double kRing_px = 4.5;       // radius of the ring on which the quarters are counted
constexpr int kRingSamples = 32;       // of a ring 28 px round: one a pixel and no fewer
constexpr int kMaxSaddles = 6000;      // the strongest; bounds the search in textures (a 9x6 board has 54)

double bilinear(const cv::Mat& image, double x, double y) {
  const int ix = static_cast<int>(x), iy = static_cast<int>(y);
  const double fx = x - ix, fy = y - iy;
  const float* a = image.ptr<float>(iy) + ix;
  const float* b = image.ptr<float>(iy + 1) + ix;
  return (a[0] * (1 - fx) + a[1] * fx) * (1 - fy) + (b[0] * (1 - fx) + b[1] * fx) * fy;
}

// The four quarters round a saddle; empty when the ring does not alternate four times, evenly.
std::optional<Saddle> examine_ring(const cv::Mat& smooth, const Eigen::Vector2d& at) {
  const double margin = kRing_px + 2;
  if (at.x() < margin || at.y() < margin || at.x() > smooth.cols - 1 - margin ||
      at.y() > smooth.rows - 1 - margin)
    return {};
  std::array<double, kRingSamples> ring;
  double lo = 1e9, hi = -1e9;
  for (int i = 0; i < kRingSamples; ++i) {
    const double angle = 2 * kPi * i / kRingSamples;
    ring[i] = bilinear(smooth, at.x() + kRing_px * std::cos(angle), at.y() + kRing_px * std::sin(angle));
    lo = std::min(lo, ring[i]), hi = std::max(hi, ring[i]);
  }
  if (hi - lo < 12) return {};
  const double middle = (lo + hi) / 2;
  std::vector<double> crossings;
  bool first_rises = false;
  for (int i = 0; i < kRingSamples; ++i) {
    const double a = ring[i] - middle, b = ring[(i + 1) % kRingSamples] - middle;
    if ((a < 0) == (b < 0)) continue;
    if (crossings.empty()) first_rises = b > a;
    crossings.push_back(2 * kPi * (i + a / (a - b)) / kRingSamples);
  }
  if (crossings.size() != 4) return {};
  Saddle saddle{at, {0, 0}, first_rises, hi - lo};
  for (int k = 0; k < 2; ++k) {  // opposite crossings belong to one straight line
    if (std::abs(axis_difference(crossings[k], crossings[k + 2])) > 0.45) return {};
    saddle.line_rad[k] = crossings[k] + axis_difference(crossings[k + 2], crossings[k]) / 2;
  }
  const double opening = saddle.line_rad[1] - saddle.line_rad[0];
  if (opening < 0.5 || opening > kPi - 0.5) return {};
  return saddle;
}

// Newton step on the smoothed picture to the point without slope.
std::optional<Eigen::Vector2d> saddle_point(const cv::Mat& smooth, int x, int y) {
  const auto v = [&](int dx, int dy) { return static_cast<double>(smooth.at<float>(y + dy, x + dx)); };
  const double gx = (v(1, 0) - v(-1, 0)) / 2, gy = (v(0, 1) - v(0, -1)) / 2;
  const double xx = v(1, 0) + v(-1, 0) - 2 * v(0, 0), yy = v(0, 1) + v(0, -1) - 2 * v(0, 0);
  const double xy = (v(1, 1) + v(-1, -1) - v(1, -1) - v(-1, 1)) / 4;
  const double determinant = xx * yy - xy * xy;
  if (determinant >= 0) return {};
  const Eigen::Vector2d step(-(yy * gx - xy * gy) / determinant, -(xx * gy - xy * gx) / determinant);
  if (step.cwiseAbs().maxCoeff() > 1.5) return {};
  return Eigen::Vector2d(x + step.x(), y + step.y());
}

}  // namespace

std::vector<Saddle> find_saddles(const cv::Mat& grey8) {
  cv::Mat smooth, gentle, xx, yy, xy;
  grey8.convertTo(gentle, CV_32F);
  cv::GaussianBlur(gentle, smooth, {}, kSmoothing_px);
  cv::GaussianBlur(gentle, gentle, {}, 0.6);
  cv::Sobel(smooth, xx, CV_32F, 2, 0);
  cv::Sobel(smooth, yy, CV_32F, 0, 2);
  cv::Sobel(smooth, xy, CV_32F, 1, 1);
  cv::Mat response = xy.mul(xy) - xx.mul(yy);
  struct Candidate {
    float response;
    int x, y;
  };
  std::vector<Candidate> candidates;
  // px: a peak is the highest within kReach, less than corners lie apart (more than kRing_px); the ring with
  // its two pixels of margin has to lie in the picture.
  constexpr int kReach = 3, kMargin = 7;
  for (int y = kMargin; y < response.rows - kMargin; ++y)
    for (int x = kMargin; x < response.cols - kMargin; ++x) {
      const float r = response.at<float>(y, x);
      if (r < 40) continue;
      bool highest = true;
      for (int dy = -kReach; dy <= kReach && highest; ++dy)
        for (int dx = -kReach; dx <= kReach && highest; ++dx) {
          const float other = response.at<float>(y + dy, x + dx);
          highest = other < r || (other == r && (dy > 0 || (dy == 0 && dx >= 0)));
        }
      if (highest) candidates.push_back({r, x, y});
    }
  std::sort(candidates.begin(), candidates.end(),
            [](const auto& a, const auto& b) { return a.response > b.response; });
  if (candidates.size() > 4 * kMaxSaddles) candidates.resize(4 * kMaxSaddles);
  std::vector<Saddle> saddles;
  for (const Candidate& c : candidates) {
    const auto at = saddle_point(smooth, c.x, c.y);
    if (!at) continue;
    if (const auto saddle = examine_ring(gentle, *at)) saddles.push_back(*saddle);
    if (saddles.size() >= kMaxSaddles) break;
  }
  return saddles;
}

double axis_difference(double a, double b) {
  const double turn = a - b + kPi / 2;
  return turn - kPi * std::floor(turn / kPi) - kPi / 2;
}

double misalignment(const Saddle& s, double direction_rad) {
  return std::min(std::abs(axis_difference(direction_rad, s.line_rad[0])),
                  std::abs(axis_difference(direction_rad, s.line_rad[1])));
}

bool light_after(const Saddle& s, double direction_rad) {
  // The line may lie a little on either side of `direction`: take the nearer line, then the quarter after it.
  const double to_first = std::abs(axis_difference(direction_rad, s.line_rad[0]));
  const double to_second = std::abs(axis_difference(direction_rad, s.line_rad[1]));
  return to_first < to_second ? s.light_between : !s.light_between;
}

std::optional<double> mean_3x3(const cv::Mat& grey8, const Eigen::Vector2d& at) {
  const int x = static_cast<int>(std::lround(at.x())), y = static_cast<int>(std::lround(at.y()));
  if (x < 1 || y < 1 || x >= grey8.cols - 1 || y >= grey8.rows - 1) return {};
  int sum = 0;
  for (int dy = -1; dy <= 1; ++dy)
    for (int dx = -1; dx <= 1; ++dx) sum += grey8.at<std::uint8_t>(y + dy, x + dx);
  return sum / 9.0;
}

}  // namespace rondure
