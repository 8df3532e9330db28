#include "photo/side/silhouette.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement, or was set looking at tests/bench/side_scenes (figures in
// tests/data/studies/side_scenes.txt); what comes of them all is checked by tests/bench/study_side_view.
constexpr int kLongestReduced_px = 1000;   // things are told apart so, quickly; outlines are traced in full
constexpr double kLeastContrast = 0.04;    // of full scale, in light
constexpr double kLeastArea_ratio = 2e-4;  // of the picture
constexpr double kSecondPart_ratio = 0.1;  // of the largest: smaller things are dust
constexpr double kMargin_px = 12;          // of full-size pixels between part and border
constexpr int kLeastSide_px = 40;          // of a part, in the picture

Error cannot(const std::string& detail) { return {ErrorCode::kNoAnswer, detail}; }

cv::Mat samples_of(const Picture& picture, const cv::Rect& part) {
  const bool bytes = picture.bits == 8;
  void* data = bytes ? static_cast<void*>(const_cast<std::uint8_t*>(picture.grey8.data()))
                     : static_cast<void*>(const_cast<std::uint16_t*>(picture.grey16.data()));
  return cv::Mat(picture.height_px, picture.width_px, bytes ? CV_8U : CV_16U, data)(part);
}

cv::Mat reduced_bytes(const Picture& picture, double& reduction) {
  cv::Mat small = samples_of(picture, {0, 0, picture.width_px, picture.height_px});
  reduction = std::max(1.0, std::max(small.cols, small.rows) / static_cast<double>(kLongestReduced_px));
  if (reduction > 1) cv::resize(small, small, {}, 1 / reduction, 1 / reduction, cv::INTER_AREA);
  if (small.depth() == CV_16U) small.convertTo(small, CV_8U, 255.0 / 65535.0);
  return small;
}

double median_sample(const cv::Mat& bytes, const cv::Mat& where) {
  std::vector<double> v;
  const int step = std::max(1, bytes.rows * bytes.cols / 200000);
  for (int i = 0; i < bytes.rows * bytes.cols; i += step)
    if (where.at<std::uint8_t>(i / bytes.cols, i % bytes.cols) != 0)
      v.push_back(bytes.at<std::uint8_t>(i / bytes.cols, i % bytes.cols));
  return median(std::move(v));
}

// Is the ground the bright side? It is what most of the border shows.
bool is_ground_bright(const cv::Mat& mask_dark) {
  double dark = 0, all = 0;
  for (int x = 0; x < mask_dark.cols; ++x)
    for (const int y : {0, mask_dark.rows - 1}) dark += mask_dark.at<std::uint8_t>(y, x) != 0, all += 1;
  for (int y = 0; y < mask_dark.rows; ++y)
    for (const int x : {0, mask_dark.cols - 1}) dark += mask_dark.at<std::uint8_t>(y, x) != 0, all += 1;
  return dark < 0.5 * all;
}

struct Thing {
  int label = 0, area = 0;
  cv::Rect box;
  bool at_border = false;
};

// Inside the board's outline, or so near to it that it is its frame.
bool is_on_board(const MeasuringPlane& plane, const cv::Rect& box, double reduction) {
  if (plane.outline.size() < 3) return false;
  std::vector<cv::Point2f> board;
  for (const PixelPoint& p : plane.outline)
    board.emplace_back(static_cast<float>(p.x_px), static_cast<float>(p.y_px));
  const cv::Point2f middle(static_cast<float>((box.x + 0.5 * box.width) * reduction),
                           static_cast<float>((box.y + 0.5 * box.height) * reduction));
  return cv::pointPolygonTest(board, middle, false) >= 0;
}

bool is_one_of(const std::vector<Circle>& circles, const cv::Rect& box, double reduction) {
  const Eigen::Vector2d middle =
      reduction * Eigen::Vector2d(box.x + 0.5 * box.width, box.y + 0.5 * box.height);
  return std::any_of(circles.begin(), circles.end(), [&](const Circle& c) {
    return (middle - c.center.vec()).norm() < 0.5 * c.radius_mm &&
           reduction * std::max(box.width, box.height) < 2.4 * c.radius_mm + 4 * reduction;
  });
}

Result<Thing> choose(const cv::Mat& mask, const MeasuringPlane& plane, const std::vector<Circle>& passed_over,
                     double reduction) {
  cv::Mat labels, stats, centers;
  const int count = cv::connectedComponentsWithStats(mask, labels, stats, centers, 8, CV_32S);
  std::vector<Thing> whole, cut;
  const int margin = static_cast<int>(std::ceil(kMargin_px / reduction));
  for (int k = 1; k < count; ++k) {
    const cv::Rect box(stats.at<int>(k, cv::CC_STAT_LEFT), stats.at<int>(k, cv::CC_STAT_TOP),
                       stats.at<int>(k, cv::CC_STAT_WIDTH), stats.at<int>(k, cv::CC_STAT_HEIGHT));
    const int area = stats.at<int>(k, cv::CC_STAT_AREA);
    if (area < kLeastArea_ratio * mask.rows * mask.cols || is_on_board(plane, box, reduction) ||
        is_one_of(passed_over, box, reduction))
      continue;
    const bool at_border = box.x < margin || box.y < margin || box.x + box.width > mask.cols - margin ||
                           box.y + box.height > mask.rows - margin;
    (at_border ? cut : whole).push_back({k, area, box, at_border});
  }
  const auto larger = [](const Thing& a, const Thing& b) { return a.area > b.area; };
  std::sort(whole.begin(), whole.end(), larger), std::sort(cut.begin(), cut.end(), larger);
  if (whole.empty() && cut.empty())
    return cannot(
        "found nothing that stands out from its ground, needed a part on its side in front of an even light");
  if (whole.empty() || (!cut.empty() && cut[0].area > whole[0].area))
    return cannot("found a part that the picture's border cuts, needed the whole part with ground all round");
  if (whole.size() > 1 && whole[1].area > kSecondPart_ratio * whole[0].area)
    return cannot("found " + std::to_string(whole.size()) +
                  " separate outlines, needed one part alone in the picture (a part whose middle is as "
                  "bright as the ground falls into two)");
  return whole[0];
}

// The outline of the part in full-size pixels.
std::vector<Eigen::Vector2d> trace(const Picture& picture, const Thing& thing, double reduction,
                                   double threshold_sample, bool dark) {
  const auto grown = [&](int from, int length, int most) {
    const int lo = std::max(0, static_cast<int>((from - 2) * reduction) - 4);
    const int hi = std::min(most, static_cast<int>((from + length + 2) * reduction) + 4);
    return std::pair{lo, hi - lo};
  };
  const auto [x, w] = grown(thing.box.x, thing.box.width, picture.width_px);
  const auto [y, h] = grown(thing.box.y, thing.box.height, picture.height_px);
  cv::Mat mask;
  cv::compare(samples_of(picture, {x, y, w, h}), threshold_sample, mask, dark ? cv::CMP_LT : cv::CMP_GT);
  std::vector<std::vector<cv::Point>> lines;
  cv::findContours(mask, lines, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE, {x, y});
  const std::vector<cv::Point>* best = nullptr;
  double most = 0;
  for (const auto& line : lines)
    if (const double area = cv::contourArea(line); area > most) most = area, best = &line;
  std::vector<Eigen::Vector2d> out;
  if (!best) return out;
  for (const cv::Point& p : *best) out.emplace_back(p.x, p.y);
  // Counter-clockwise as seen: with y down the signed area is negative.
  double twice = 0;
  for (std::size_t i = 0; i < out.size(); ++i) {
    const Eigen::Vector2d &a = out[i], &b = out[(i + 1) % out.size()];
    twice += a.x() * b.y() - a.y() * b.x();
  }
  if (twice > 0) std::reverse(out.begin(), out.end());
  return out;
}

}  // namespace

Result<Silhouette> find_silhouette(const Picture& picture, const MeasuringPlane& plane,
                                   const std::vector<float>& light_table,
                                   const std::vector<Circle>& passed_over) {
  double reduction = 1;
  const cv::Mat bytes = reduced_bytes(picture, reduction);
  cv::Mat mask_dark;
  cv::threshold(bytes, mask_dark, 0, 255, cv::THRESH_BINARY_INV | cv::THRESH_OTSU);
  Silhouette out;
  out.dark = is_ground_bright(mask_dark);
  const double full = static_cast<double>(light_table.size() - 1);
  const auto light_of = [&](double byte) {
    return static_cast<double>(light_table[static_cast<std::size_t>(byte / 255 * full)]);
  };
  const double dark = light_of(median_sample(bytes, mask_dark)),
               bright = light_of(median_sample(bytes, ~mask_dark));
  if (bright - dark < kLeastContrast)
    return cannot(
        "found nothing that stands out from its ground, needed a part on its side in front of an even light");
  const cv::Mat mask = out.dark ? mask_dark : cv::Mat(~mask_dark);
  const auto thing = choose(mask, plane, passed_over, reduction);
  if (!thing) return thing.error();
  if (std::min(thing->box.width, thing->box.height) * reduction < kLeastSide_px)
    return cannot(
        "found a part of " +
        std::to_string(static_cast<int>(std::min(thing->box.width, thing->box.height) * reduction)) +
        " px across, needed " + std::to_string(kLeastSide_px) + " or more");
  out.half_light = 0.5 * (dark + bright);
  const auto above = std::upper_bound(light_table.begin(), light_table.end(), out.half_light);
  out.line = trace(picture, *thing, reduction, static_cast<double>(above - light_table.begin()), out.dark);
  return out;
}

}  // namespace rondure
