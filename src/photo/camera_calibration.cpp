#include <algorithm>
#include <atomic>
#include <cmath>
#include <opencv2/calib3d.hpp>
#include <thread>

#include "board_fit.hpp"
#include "refine.hpp"
#include "rondure/photo/camera.hpp"

namespace rondure {
namespace {

constexpr int kLeastViews = 3;
constexpr double kOutlierSds = 5;
constexpr double kWorstFocalRatio = 0.002;  // a focal length known no better is reported
constexpr double kSquareOn_deg = 8;         // views tilted less say little of the focal length
constexpr int kCells = 3;                   // the picture in 3 x 3 regions for the coverage warning
constexpr double kBentBoardChi = 6;
constexpr double kWorstInk_mm = 0.004;  // ink known no better than this is not used

struct Work {
  std::size_t index = 0;  // of the view as given
  FoundBoard board;
  BundleView view;
  double blur_px = 1, px_per_mm = 0;
};

// Looks at every view in one calibration: to find the board, and in each of the rounds below; with a tone
// curve to learn that is one to three rounds more.
constexpr std::size_t kRoundsExpected = 6;

// Counts pieces of work and tells the share that is done.
class WorkDone {
public:
  WorkDone(std::size_t pieces, const std::function<void(double)>& tell)
      : pieces_(static_cast<double>(pieces)), tell_(tell) {}
  // One piece, done when it goes out of scope.
  class Piece {
  public:
    explicit Piece(WorkDone& of) : of_(of) {}
    Piece(const Piece&) = delete;
    Piece& operator=(const Piece&) = delete;
    ~Piece() { of_.add(); }

  private:
    WorkDone& of_;
  };

private:
  void add() {
    const int done = ++done_;
    if (tell_) tell_(std::min(0.98, done / pieces_));
  }
  double pieces_;
  const std::function<void(double)>& tell_;
  std::atomic<int> done_{0};
};

template <class Task>
void in_parallel(std::size_t count, int threads, Task task) {
  std::atomic<std::size_t> next{0};
  const auto run = [&] {
    for (std::size_t i; (i = next++) < count;) task(i);
  };
  std::vector<std::thread> pool;
  for (int t = 1; t < threads && static_cast<std::size_t>(t) < count; ++t) pool.emplace_back(run);
  run();
  for (auto& thread : pool) thread.join();
}

// Lens and poses from the corners alone (Zhang 2000 as OpenCV has it), good to a few tenths of a pixel.
bool start_from_corners(std::vector<Work>& works, const BoardSize& size, int width, int height,
                        Vector9& lens) {
  std::vector<std::vector<cv::Point3f>> board;
  std::vector<std::vector<cv::Point2f>> picture;
  for (const Work& w : works) {
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

// Sides of every view placed where lens and pose say.
void place_sides(std::vector<Work>& works, const std::vector<CalibrationView>& views, const BoardSize& size,
                 const Vector9& lens, const ToneCurve& tone, int threads, WorkDone& done) {
  in_parallel(works.size(), threads, [&](std::size_t i) {
    const WorkDone::Piece piece(done);
    Work& w = works[i];
    const Lens l = lens_from(lens);
    const SideFitOptions options{w.blur_px, w.px_per_mm > 0 ? w.view.growth_mm * w.px_per_mm : 1.0};
    w.view.sides = fit_sides(views[w.index].picture, PlaneMap(map_of(homography_of(w.view.pose, l), l)),
                             sides_of(w.board, size.square_mm), tone, options);
    drop_bad_sides(w.view.sides, true);
    std::vector<double> blur, scale;
    for (const SideFit& s : w.view.sides)
      if (s.used) blur.push_back(s.blur_px), scale.push_back(s.observation[0].px_per_mm);
    if (!blur.empty()) w.blur_px = median(blur), w.px_per_mm = median(scale);
  });
}

BundleFit bundle(std::vector<Work>& works, const Vector9& lens, bool free_k3, bool with_covariance,
                 int threads) {
  std::vector<BundleView> views;
  for (Work& w : works) views.push_back(std::move(w.view));
  BundleFit fit = refine_camera(views, lens, free_k3, with_covariance, threads);
  for (std::size_t i = 0; i < works.size(); ++i) works[i].view = std::move(views[i]);
  return fit;
}

int drop_outliers(std::vector<Work>& works) {
  std::vector<double> sizes;
  for (const Work& w : works)
    for (std::size_t i = 0; i < w.view.sides.size(); ++i)
      if (w.view.sides[i].used) sizes.push_back(w.view.residual_sd[i]);
  const double limit = kOutlierSds * std::max(1.0, median(sizes));
  int dropped = 0;
  for (Work& w : works)
    for (std::size_t i = 0; i < w.view.sides.size(); ++i)
      if (w.view.sides[i].used && w.view.residual_sd[i] > limit) w.view.sides[i].used = false, ++dropped;
  return dropped;
}

int used_sides(const Work& w) {
  return static_cast<int>(
      std::count_if(w.view.sides.begin(), w.view.sides.end(), [](const SideFit& s) { return s.used; }));
}

// Takes out the view that fits far worse than the rest; its number in `works`, or -1.
int worst_view(const std::vector<Work>& works) {
  if (works.size() <= kLeastViews) return -1;
  std::vector<double> rms;
  for (const Work& w : works) rms.push_back(w.view.rms_px);
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

// delta_i = ink k_i + c sb_i; two unknowns, weights even (noise of delta is far below the model's own
// faults).
struct InkAndTone {
  Estimate ink_mm;
  double tone_per_blur = 0;  // c
};
std::optional<InkAndTone> separate(const std::vector<Work>& works) {
  Eigen::Matrix2d n = Eigen::Matrix2d::Zero();
  Eigen::Vector2d g = Eigen::Vector2d::Zero();
  for (const Work& w : works) {
    const Eigen::Vector2d row(w.px_per_mm, w.blur_px);
    n += row * row.transpose();
    g += row * (w.view.growth_mm * w.px_per_mm);
  }
  const Eigen::Vector2d scale = n.diagonal().cwiseSqrt();
  const double correlation = n(0, 1) / (scale(0) * scale(1));
  if (works.size() < 4 || 1 - correlation * correlation < 1e-3) return {};
  const Eigen::Vector2d x = n.inverse() * g;
  double ssq = 0;
  for (const Work& w : works)
    ssq += std::pow(w.view.growth_mm * w.px_per_mm - x(0) * w.px_per_mm - x(1) * w.blur_px, 2);
  const double sd = std::max(std::sqrt(ssq / static_cast<double>(works.size() - 2)), 0.003);  // px
  const double u = sd * std::sqrt(n.inverse()(0, 0));
  return InkAndTone{{x(0), u}, x(1)};
}

std::vector<Warning> coverage_warnings(const std::vector<Work>& works, int width, int height) {
  int seen[kCells][kCells] = {};
  for (const Work& w : works)
    for (const SideFit& s : w.view.sides)
      if (s.used) {
        const int x = std::clamp(static_cast<int>(s.middle_px.x() * kCells / width), 0, kCells - 1);
        const int y = std::clamp(static_cast<int>(s.middle_px.y() * kCells / height), 0, kCells - 1);
        ++seen[y][x];
      }
  static constexpr const char* kRows[] = {"upper", "middle", "lower"};
  static constexpr const char* kColumns[] = {"left", "centre", "right"};
  std::string gaps;
  for (int y = 0; y < kCells; ++y)
    for (int x = 0; x < kCells; ++x)
      if (seen[y][x] < 8) gaps += (gaps.empty() ? "" : ", ") + std::string(kRows[y]) + " " + kColumns[x];
  if (gaps.empty()) return {};
  return {{"views-leave-gaps",
           "no view shows the board in the " + gaps + " of the picture: the lens is not known there"}};
}

}  // namespace

Result<CameraResult> calibrate_camera(const std::vector<CalibrationView>& views, const BoardSize& size,
                                      const CameraOptions& options) {
  CameraResult result;
  if (views.empty()) return Error{ErrorCode::kBadCalibration, "no views; needed are 3 or more, better 10"};
  const Picture& first = views.front().picture;
  for (const CalibrationView& v : views)
    if (v.picture.width_px != first.width_px || v.picture.height_px != first.height_px ||
        v.picture.model != first.model || v.picture.orientation != first.orientation)
      return Error{ErrorCode::kBadCalibration,
                   v.name + " is " + std::to_string(v.picture.width_px) + " x " +
                       std::to_string(v.picture.height_px) + " px, " + views.front().name + " is " +
                       std::to_string(first.width_px) + " x " + std::to_string(first.height_px) +
                       " px; needed are views of one camera, one size, held the same way up"};
  const int threads = options.threads > 0
                          ? options.threads
                          : std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
  result.views.resize(views.size());
  std::vector<std::optional<FoundBoard>> boards(views.size());
  std::vector<Error> refusals(views.size(), Error{ErrorCode::kNoBoard, ""});
  WorkDone done(views.size() * (1 + kRoundsExpected), options.on_progress);
  in_parallel(views.size(), threads, [&](std::size_t i) {
    const WorkDone::Piece piece(done);
    auto board = find_board(views[i].picture, size);
    if (board)
      boards[i] = std::move(*board);
    else
      refusals[i] = board.error();
  });
  std::vector<Work> works;
  const auto leave_out = [&](std::size_t index, const std::string& why) {
    result.views[index].why_not = why;
    result.warnings.push_back({"view-left-out", views[index].name + " is left out: " + why});
  };
  for (std::size_t i = 0; i < views.size(); ++i) {
    result.views[i].name = views[i].name;
    if (!boards[i]) {
      leave_out(i, refusals[i].message());
      continue;
    }
    Work work;
    work.view.pose.setZero();
    work.index = i, work.board = std::move(*boards[i]);
    works.push_back(std::move(work));
  }
  if (works.empty()) {
    const bool mismatch = std::all_of(refusals.begin(), refusals.end(),
                                      [](const Error& e) { return e.code == ErrorCode::kBoardMismatch; });
    return Error{mismatch ? ErrorCode::kBoardMismatch : ErrorCode::kNoBoard,
                 views.front().name + ": " + refusals.front().detail};
  }
  const auto too_few = [&] {
    return Error{ErrorCode::kBadCalibration,
                 std::to_string(works.size()) + " of " + std::to_string(views.size()) +
                     " views usable; needed are 3 or more, tilted different ways, better 10"};
  };
  if (works.size() < kLeastViews) return too_few();

  Vector9 lens;
  if (!start_from_corners(works, size, first.width_px, first.height_px, lens))
    return Error{ErrorCode::kBadCalibration,
                 "the corners of these views do not determine a camera; tilt the board more"};
  ToneCurve tone;
  tone.linear = options.linear_light;
  BundleFit fit;
  const auto settle = [&](int rounds, bool free_k3) {
    for (int round = 0; round < rounds; ++round) {
      place_sides(works, views, size, lens, tone, threads, done);
      for (auto it = works.begin(); it != works.end();) {
        if (used_sides(*it) >= 12) {
          ++it;
          continue;
        }
        leave_out(it->index, "too few of its edges can be placed (squares too small, blurred or clipped)");
        it = works.erase(it);
      }
      if (works.size() < kLeastViews) return;
      for (int again = 0; again < 4; ++again) {
        fit = bundle(works, lens, free_k3, false, threads);
        if (const int worst = worst_view(works); worst >= 0 && round > 0) {
          char why[96];
          std::snprintf(why, sizeof why, "its edges miss by %.3f px rms, the others by %.3f px",
                        works[static_cast<std::size_t>(worst)].view.rms_px, fit.rms_px);
          leave_out(works[static_cast<std::size_t>(worst)].index, why);
          works.erase(works.begin() + worst);
        } else if (drop_outliers(works) == 0) {
          break;
        }
      }
      lens = fit.lens;
    }
  };
  settle(3, false);
  if (works.size() < kLeastViews) return too_few();
  // The third radial term only when the fit gets clearly better for it: ten times what chance gives.
  const double before = fit.ssq;
  const Vector9 two_terms = lens;
  std::vector<Work> kept = works;
  const BundleFit three = bundle(works, lens, true, false, threads);
  const bool k3 =
      three.converged && before - three.ssq > 30 * std::max(1.0, three.ssq / std::max(1, three.observations));
  if (k3)
    lens = three.lens;
  else
    works = std::move(kept), lens = two_terms;

  // Ink and tone: with the ink known, gamma such that what is left of the growth is ink.
  if (!options.linear_light) {
    auto parts = separate(works);
    const bool useful = parts && parts->ink_mm.u < kWorstInk_mm;
    if (useful) {
      double slope = 0.7;  // of c by gamma
      ToneCurve next = tone;
      for (int step = 0; step < 3 && std::abs(parts->tone_per_blur) > 0.002; ++step) {
        const double from = next.gamma_shift, c = parts->tone_per_blur;
        next.gamma_shift = std::clamp(from - std::clamp(c / slope, -0.25, 0.25), -0.6, 0.9);
        tone = next;
        settle(1, k3);
        if (works.size() < kLeastViews) return too_few();
        parts = separate(works);
        if (!parts) break;
        const double measured = (parts->tone_per_blur - c) / (next.gamma_shift - from);
        if (measured > 0.2) slope = measured;
      }
      if (parts) result.camera.ink_mm = parts->ink_mm, result.camera.tone_known = true;
    }
  }
  settle(1, k3);
  if (works.size() < kLeastViews) return too_few();
  fit = bundle(works, lens, k3, true, threads);
  if (!fit.converged || !fit.lens.allFinite() || !fit.covariance.allFinite() || !(fit.lens(0) > 0))
    return Error{ErrorCode::kBadCalibration,
                 "no camera fits these views; tilt the board more, in different directions"};

  CameraCalibration& camera = result.camera;
  camera.width_px = first.width_px, camera.height_px = first.height_px;
  camera.make = first.make, camera.model = first.model, camera.orientation = first.orientation;
  camera.lens = lens_from(fit.lens);
  camera.covariance = fit.covariance;
  camera.tone = tone;
  result.rms_px = fit.rms_px, result.chi = fit.chi, result.observations = fit.observations;
  double most_tilt = 0;
  for (const Work& w : works) {
    ViewResult& v = result.views[w.index];
    v.used = true;
    v.rms_px = w.view.rms_px, v.px_per_mm = w.px_per_mm, v.blur_px = w.blur_px;
    v.growth_px = w.view.growth_mm * w.px_per_mm;
    v.sides = static_cast<int>(w.view.sides.size()), v.sides_used = used_sides(w);
    v.tilt_deg = tilt_deg(w.view.pose);
    v.distance_mm = w.view.pose.tail<3>().norm();
    most_tilt = std::max(most_tilt, v.tilt_deg);
  }
  if (most_tilt < kSquareOn_deg || camera.focal_u_ratio() > kWorstFocalRatio) {
    char text[200];
    std::snprintf(text, sizeof text,
                  "the views are too square-on to fix the focal length (u %.2f %%, largest tilt %.0f deg): "
                  "tilt the board 15 to 30 deg, "
                  "different ways",
                  100 * camera.focal_u_ratio(), most_tilt);
    result.warnings.push_back({"views-square-on", text});
  }
  for (Warning& w : coverage_warnings(works, first.width_px, first.height_px))
    result.warnings.push_back(std::move(w));
  if (result.chi > kBentBoardChi) {
    char text[200];
    std::snprintf(text, sizeof text,
                  "edges miss by %.3f px rms where noise explains %.3f px: the board is not flat or not "
                  "evenly printed, or the lens is "
                  "unusual; the uncertainty is enlarged for it",
                  result.rms_px, result.rms_px / result.chi);
    result.warnings.push_back({"board-not-flat", text});
  }
  return result;
}

}  // namespace rondure
