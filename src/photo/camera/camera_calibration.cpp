#include <algorithm>
#include <cmath>
#include <cstdio>
#include <thread>

#include "photo/camera/calibration_views.hpp"
#include "rondure/core/parallel.hpp"
#include "rondure/photo/camera.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement; what comes of them all is checked by
// tests/bench/study_photo_scenes, whose rows with views calibrate a camera first.
constexpr int kLeastViews = 3;  // each gives 2 equations for a pinhole's 5 numbers (Zhang 2000, from memory)
constexpr double kWorstFocalRatio = 0.002;  // a focal length known no better is reported
constexpr double kSquareOn_deg = 8;         // views tilted less say little of the focal length
constexpr double kBentBoardChi = 6;         // rms miss over noise at which it is said; by judgement
constexpr int kLeastSides = 12;             // of a view
constexpr double kWorstInk_mm = 0.004;      // ink known no better than this is not used

// Looks at every view in one calibration: to find the board, and in each of the rounds below; with a tone
// curve to learn that is one to three rounds more.
constexpr std::size_t kRoundsExpected = 6;

class CameraWork {
public:
  CameraWork(const std::vector<CalibrationView>& views, const BoardSize& size, const CameraOptions& options)
      : views_(views),
        size_(size),
        options_(options),
        threads_(options.threads > 0 ? options.threads
                                     : std::max(1, static_cast<int>(std::thread::hardware_concurrency()))),
        done_(views.size() * (1 + kRoundsExpected), options.on_progress) {
    tone_.linear = options.linear_light;
  }

  Result<CameraResult> run() {
    if (auto refusal = find_boards()) return *refusal;
    if (works_.size() < kLeastViews) return too_few();
    const Picture& first = views_.front().picture;
    if (!start_from_corners(works_, size_, first.width_px, first.height_px, lens_))
      return Error{ErrorCode::kBadCalibration,
                   "the corners of these views do not determine a camera; tilt the board more"};
    settle(3, false);
    if (works_.size() < kLeastViews) return too_few();
    const bool k3 = wants_k3();
    if (!options_.linear_light && !learn_tone(k3)) return too_few();
    settle(1, k3);
    if (works_.size() < kLeastViews) return too_few();
    fit_ = bundle(works_, lens_, k3, true, threads_);
    if (!fit_.converged || !fit_.lens.allFinite() || !fit_.covariance.allFinite() || !(fit_.lens(0) > 0))
      return Error{ErrorCode::kBadCalibration,
                   "no camera fits these views; tilt the board more, in different directions"};
    sum_up();
    warn();
    return std::move(result_);
  }

private:
  void leave_out(std::size_t index, const std::string& why) {
    result_.views[index].why_not = why;
    result_.warnings.push_back({"view-left-out", views_[index].name + " is left out: " + why});
  }

  Error too_few() const {
    return {ErrorCode::kBadCalibration,
            std::to_string(works_.size()) + " of " + std::to_string(views_.size()) +
                " views usable; needed 3 or more, tilted different ways, better 10"};
  }

  // Refused when no view shows the board.
  std::optional<Error> find_boards() {
    std::vector<std::optional<FoundBoard>> boards(views_.size());
    std::vector<Error> refusals(views_.size(), Error{ErrorCode::kNoBoard, ""});
    in_parallel(
        static_cast<int>(views_.size()),
        [&](int i) {
          const WorkDone::Piece piece(done_);
          auto board = find_board(views_[i].picture, size_);
          if (board)
            boards[i] = std::move(*board);
          else
            refusals[i] = board.error();
        },
        threads_);
    result_.views.resize(views_.size());
    for (std::size_t i = 0; i < views_.size(); ++i) {
      result_.views[i].name = views_[i].name;
      if (!boards[i]) {
        leave_out(i, refusals[i].message());
        continue;
      }
      WorkedView work;
      work.view.pose.setZero();
      work.index = i, work.board = std::move(*boards[i]);
      works_.push_back(std::move(work));
    }
    if (!works_.empty()) return {};
    const bool mismatch = std::all_of(refusals.begin(), refusals.end(),
                                      [](const Error& e) { return e.code == ErrorCode::kBoardMismatch; });
    return Error{mismatch ? ErrorCode::kBoardMismatch : ErrorCode::kNoBoard,
                 views_.front().name + ": " + refusals.front().detail};
  }

  // Places the sides, moves lens and poses, leaves out what does not fit; again.
  void settle(int rounds, bool free_k3) {
    for (int round = 0; round < rounds; ++round) {
      place_sides(works_, views_, size_, lens_, tone_, threads_, done_);
      for (auto it = works_.begin(); it != works_.end();) {
        if (used_sides(*it) >= kLeastSides) {
          ++it;
          continue;
        }
        leave_out(it->index, "too few of its edges can be placed (squares too small, blurred or clipped)");
        it = works_.erase(it);
      }
      if (works_.size() < kLeastViews) return;
      for (int again = 0; again < 4; ++again) {
        fit_ = bundle(works_, lens_, free_k3, false, threads_);
        if (const int worst = worst_view(works_); worst >= 0 && round > 0) {
          char why[96];
          std::snprintf(why, sizeof why, "its edges miss by %.3f px rms, the others by %.3f px",
                        works_[static_cast<std::size_t>(worst)].view.rms_px, fit_.rms_px);
          leave_out(works_[static_cast<std::size_t>(worst)].index, why);
          works_.erase(works_.begin() + worst);
        } else if (drop_outliers(works_) == 0) {
          break;
        }
      }
      lens_ = fit_.lens;
    }
  }

  // The third radial term only when the fit gets clearly better for it: ten times what chance gives.
  bool wants_k3() {
    const double before = fit_.ssq;
    std::vector<WorkedView> kept = works_;
    const BundleFit three = bundle(works_, lens_, true, false, threads_);
    const bool k3 = three.converged &&
                    before - three.ssq > 30 * std::max(1.0, three.ssq / std::max(1, three.observations));
    if (k3)
      lens_ = three.lens;
    else
      works_ = std::move(kept);
    return k3;
  }

  // With the ink known, gamma such that what is left of the growth is ink. False: too few views are left.
  bool learn_tone(bool k3) {
    auto parts = ink_and_tone(works_);
    if (!parts || !(parts->ink_mm.u < kWorstInk_mm)) return true;
    double slope = 0.7;  // of c by gamma
    ToneCurve next = tone_;
    for (int step = 0; step < 3 && std::abs(parts->tone_per_blur) > 0.002; ++step) {
      const double from = next.gamma_shift, c = parts->tone_per_blur;
      next.gamma_shift = std::clamp(from - std::clamp(c / slope, -0.25, 0.25), -0.6, 0.9);
      tone_ = next;
      settle(1, k3);
      if (works_.size() < kLeastViews) return false;
      parts = ink_and_tone(works_);
      if (!parts) return true;
      const double measured = (parts->tone_per_blur - c) / (next.gamma_shift - from);
      if (measured > 0.2) slope = measured;
    }
    result_.camera.ink_mm = parts->ink_mm, result_.camera.tone_known = true;
    return true;
  }

  void sum_up() {
    const Picture& first = views_.front().picture;
    CameraCalibration& camera = result_.camera;
    camera.width_px = first.width_px, camera.height_px = first.height_px;
    camera.make = first.make, camera.model = first.model, camera.orientation = first.orientation;
    camera.lens = lens_from(fit_.lens);
    camera.covariance = fit_.covariance;
    camera.tone = tone_;
    result_.rms_px = fit_.rms_px, result_.chi = fit_.chi, result_.observations = fit_.observations;
    for (const WorkedView& w : works_) {
      ViewResult& v = result_.views[w.index];
      v.used = true;
      v.rms_px = w.view.rms_px, v.px_per_mm = w.px_per_mm, v.blur_px = w.blur_px;
      v.growth_px = w.view.growth_mm * w.px_per_mm;
      v.sides = static_cast<int>(w.view.sides.size()), v.sides_used = used_sides(w);
      v.tilt_deg = tilt_deg(w.view.pose);
      v.distance_mm = w.view.pose.tail<3>().norm();
    }
  }

  void warn() {
    double most_tilt = 0;
    for (const ViewResult& v : result_.views) most_tilt = std::max(most_tilt, v.tilt_deg);
    char text[300];
    if (most_tilt < kSquareOn_deg || result_.camera.focal_u_ratio() > kWorstFocalRatio) {
      std::snprintf(text, sizeof text,
                    "the views are too square-on to fix the focal length (u %.2f %%, largest tilt %.0f deg): "
                    "tilt the board 15 to 30 deg, "
                    "different ways",
                    100 * result_.camera.focal_u_ratio(), most_tilt);
      result_.warnings.push_back({"views-square-on", text});
    }
    for (Warning& w : coverage_warnings(works_, result_.camera.width_px, result_.camera.height_px))
      result_.warnings.push_back(std::move(w));
    if (fit_.board) {
      std::snprintf(text, sizeof text,
                    "the board is not as drawn: its lines lie off their places by %.3f mm rms, and it is "
                    "bent by up to %.2f "
                    "mm over %.0f mm; both are estimated with the camera and count in its uncertainty",
                    fit_.board->uneven_mm, fit_.board->bend_mm, fit_.board->length_mm);
      result_.warnings.push_back({"board-uneven", text});
    }
    if (result_.chi > kBentBoardChi) {
      std::snprintf(text, sizeof text,
                    "edges still miss by %.3f px rms where noise explains %.3f px: the lens is unusual, or "
                    "the board moved "
                    "between the views; the uncertainty is enlarged for it",
                    result_.rms_px, result_.rms_px / result_.chi);
      result_.warnings.push_back({"board-not-flat", text});
    }
  }

  const std::vector<CalibrationView>& views_;
  const BoardSize& size_;
  const CameraOptions& options_;
  int threads_;
  WorkDone done_;
  CameraResult result_;
  std::vector<WorkedView> works_;
  ToneCurve tone_;
  Vector9 lens_;
  BundleFit fit_;
};

}  // namespace

Result<CameraResult> calibrate_camera(const std::vector<CalibrationView>& views, const BoardSize& size,
                                      const CameraOptions& options) {
  if (views.empty()) return Error{ErrorCode::kBadCalibration, "no views; needed 3 or more, better 10"};
  const Picture& first = views.front().picture;
  for (const CalibrationView& v : views)
    if (v.picture.width_px != first.width_px || v.picture.height_px != first.height_px ||
        v.picture.model != first.model || v.picture.orientation != first.orientation)
      return Error{ErrorCode::kBadCalibration,
                   v.name + " is " + std::to_string(v.picture.width_px) + " x " +
                       std::to_string(v.picture.height_px) + " px, " + views.front().name + " is " +
                       std::to_string(first.width_px) + " x " + std::to_string(first.height_px) +
                       " px; needed views of one camera, one size, held the same way up"};
  return CameraWork(views, size, options).run();
}

}  // namespace rondure
