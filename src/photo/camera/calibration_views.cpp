#include "photo/camera/calibration_views.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/calib3d.hpp>

#include "photo/board/board_fit.hpp"
#include "rondure/core/median.hpp"
#include "rondure/core/parallel.hpp"

namespace rondure {
namespace {

constexpr std::size_t kFewViews = 3;  // of so few none is left out for its fit
constexpr double kOutlierSds = 5;     // times the usual side's miss: a normal law has none of so many

}  // namespace

bool start_from_corners(std::vector<WorkedView>& works, const BoardSize& size, int width, int height,
                        Vector9& lens) {
  std::vector<std::vector<cv::Point3f>> board;
  std::vector<std::vector<cv::Point2f>> picture;
  for (const WorkedView& w : works) {
    board.emplace_back(), picture.emplace_back();
    for (const BoardCorner& c : w.board.corners) {
      board.back().emplace_back(static_cast<float>(c.column * size.square_mm),
                                static_cast<float>(-c.row * size.square_mm), 0.f);
      picture.back().emplace_back(static_cast<float>(c.at.x_px), static_cast<float>(c.at.y_px));
    }
  }
  cv::Mat k = cv::Mat::eye(3, 3, CV_64F), distortion;
  std::vector<cv::Mat> turns, shifts;
  try {
    cv::calibrateCamera(board, picture, {width, height}, k, distortion, turns, shifts,
                        cv::CALIB_FIX_ASPECT_RATIO | cv::CALIB_FIX_K3);
  } catch (const cv::Exception&) {
    return false;
  }
  lens << k.at<double>(0, 0), k.at<double>(1, 1), k.at<double>(0, 2), k.at<double>(1, 2),
      distortion.at<double>(0), distortion.at<double>(1), distortion.at<double>(2), distortion.at<double>(3),
      0;
  if (!lens.allFinite() || !(lens(0) > 0)) return false;
  for (std::size_t i = 0; i < works.size(); ++i)
    for (int a = 0; a < 3; ++a) {
      works[i].view.pose(a) = turns[i].at<double>(a);
      works[i].view.pose(3 + a) = shifts[i].at<double>(a);
    }
  return true;
}

void place_sides(std::vector<WorkedView>& works, const std::vector<CalibrationView>& views,
                 const BoardSize& size, const Vector9& lens, const ToneCurve& tone, int threads,
                 WorkDone& done) {
  in_parallel(
      static_cast<int>(works.size()),
      [&](int i) {
        const WorkDone::Piece piece(done);
        WorkedView& w = works[i];
        const Lens l = lens_from(lens);
        const SideFitOptions options{w.blur_px, w.px_per_mm > 0 ? w.view.growth_mm * w.px_per_mm : 1.0};
        w.view.sides = fit_sides(views[w.index].picture, PlaneMap(map_of(homography_of(w.view.pose, l), l)),
                                 sides_of(w.board, size.square_mm), tone, options);
        drop_bad_sides(w.view.sides, true);
        std::vector<double> blur, scale;
        for (const SideFit& s : w.view.sides)
          if (s.used) blur.push_back(s.blur_px), scale.push_back(s.observation[0].px_per_mm);
        if (!blur.empty()) w.blur_px = median(blur), w.px_per_mm = median(scale);
      },
      threads);
}

BundleFit bundle(std::vector<WorkedView>& works, const Vector9& lens, bool free_k3, bool with_covariance,
                 int threads) {
  std::vector<BundleView> views;
  for (WorkedView& w : works) views.push_back(std::move(w.view));
  BundleFit fit = refine_camera(views, lens, free_k3, with_covariance, threads);
  for (std::size_t i = 0; i < works.size(); ++i) works[i].view = std::move(views[i]);
  return fit;
}

int drop_outliers(std::vector<WorkedView>& works) {
  std::vector<double> sizes;
  for (const WorkedView& w : works)
    for (std::size_t i = 0; i < w.view.sides.size(); ++i)
      if (w.view.sides[i].used) sizes.push_back(w.view.residual_sd[i]);
  const double limit = kOutlierSds * std::max(1.0, median(sizes));
  int dropped = 0;
  for (WorkedView& w : works)
    for (std::size_t i = 0; i < w.view.sides.size(); ++i)
      if (w.view.sides[i].used && w.view.residual_sd[i] > limit) w.view.sides[i].used = false, ++dropped;
  return dropped;
}

int used_sides(const WorkedView& w) {
  return static_cast<int>(
      std::count_if(w.view.sides.begin(), w.view.sides.end(), [](const SideFit& s) { return s.used; }));
}

int worst_view(const std::vector<WorkedView>& works) {
  if (works.size() <= kFewViews) return -1;
  std::vector<double> rms;
  for (const WorkedView& w : works) rms.push_back(w.view.rms_px);
  const double usual = median(rms);
  int worst = -1;
  for (std::size_t i = 0; i < works.size(); ++i)
    if (rms[i] > 4 * usual + 0.02 && (worst < 0 || rms[i] > rms[static_cast<std::size_t>(worst)]))
      worst = static_cast<int>(i);
  return worst;
}

double tilt_deg(const Vector6& pose) {
  const Eigen::Vector3d line = pose.tail<3>().normalized();
  const double angle = pose.head<3>().norm();
  const Eigen::Vector3d normal =
      Eigen::AngleAxisd(angle, pose.head<3>() / std::max(angle, 1e-12)) * Eigen::Vector3d::UnitZ();
  return deg(std::acos(std::min(1.0, std::abs(normal.dot(line)))));
}

}  // namespace rondure
