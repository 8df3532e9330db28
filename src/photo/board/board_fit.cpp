#include "photo/board/board_fit.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/calib3d.hpp>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement; what comes of them all is checked by
// tests/bench/study_board_plane and study_board_covered.
constexpr double kLeastContrastShare = 0.35;  // of the median side's
constexpr double kMostRmsShare = 2.2,
                 kMostRmsMore = 0.004;      // of the median side's, plus so much of full scale
constexpr double kMostClippedShare = 0.01;  // of the pixels on the light side
constexpr double kOutlierSds = 5;           // as calibration_views.cpp
constexpr int kCoarseRounds = 2;            // to find the squares' sides; at least one round more places them
constexpr std::size_t kCoarsePixels = 750;  // of a side, in the rounds that find it: time
constexpr int kRounds = 5;                  // at most; plane, blur and growth settle sooner
constexpr int kLeastSides = 12;             // two numbers each: 24 for a plane's 8 and the growth

}  // namespace

MeasuringPlane map_of(const Eigen::Matrix3d& h, const std::optional<Lens>& lens) {
  MeasuringPlane plane;
  plane.lens = lens;
  plane.ideal_from_part = plane.ideal_from_board = h;
  return plane;
}

Result<Eigen::Matrix3d> homography_from_corners(const FoundBoard& board, double square_mm,
                                                const std::optional<Lens>& lens) {
  std::vector<cv::Point2d> from, to;
  for (const BoardCorner& c : board.corners) {
    Eigen::Vector2d p(c.at.x_px, c.at.y_px);
    if (lens) {
      const auto ideal = ideal_from_picture(*lens, p);
      if (!ideal) continue;
      p = *ideal;
    }
    from.emplace_back(c.column * square_mm, -c.row * square_mm);
    to.emplace_back(p.x(), p.y());
  }
  cv::Mat h;
  if (from.size() >= 4) {
    cv::setRNGSeed(1);
    h = cv::findHomography(from, to, cv::RANSAC, lens ? 2.0 : 4.0);
  }
  if (h.empty()) return Error{ErrorCode::kNoBoard, "the corners found do not lie on one plane"};
  Eigen::Matrix3d out;
  for (int r = 0; r < 3; ++r)
    for (int c = 0; c < 3; ++c) out(r, c) = h.at<double>(r, c) / h.at<double>(2, 2);
  return out;
}

int drop_bad_sides(std::vector<SideFit>& sides, bool noisy_too) {
  std::vector<double> contrast, rms, blur;
  std::size_t clipped = 0;
  for (const SideFit& s : sides)
    if (s.used) {
      contrast.push_back(s.contrast), rms.push_back(s.rms), blur.push_back(s.blur_px);
      clipped += s.clipped_share > kMostClippedShare;
    }
  // Clipped light moves every edge towards black by about as much: harmless to the pose when all sides share
  // it.
  const bool all_clipped = 5 * clipped > 2 * rms.size();
  const double usual_contrast = median(contrast), usual_rms = median(rms), usual_blur = median(blur);
  int left = 0;
  for (SideFit& s : sides) {
    if (!s.used) continue;
    const bool weak = s.contrast < kLeastContrastShare * usual_contrast ||
                      (!all_clipped && s.clipped_share > kMostClippedShare);
    const bool odd = s.blur_px > 2.5 * usual_blur || s.blur_px < usual_blur / 2.5;
    const bool noisy = noisy_too && s.rms > kMostRmsShare * usual_rms + kMostRmsMore;
    s.used = !weak && !odd && !noisy;
    left += s.used;
  }
  return left;
}

Result<ViewFit> fit_view(const Picture& picture, const FoundBoard& board, double square_mm,
                         const ToneCurve& tone, const Eigen::Matrix3d& start, const std::optional<Lens>& lens,
                         const std::optional<LensPrior>& prior) {
  ViewFit view;
  const std::vector<BoardSide> sides = sides_of(board, square_mm);
  Eigen::Matrix3d h = start;
  std::optional<Lens> now = lens;
  const auto refused = [&](int placed) {
    return Error{ErrorCode::kNoBoard,
                 "only " + std::to_string(placed) + " of " + std::to_string(sides.size()) +
                     " sides of squares could be placed; needed " + std::to_string(kLeastSides) +
                     ", squares of 16 px or more, in focus, not clipped"};
  };
  double before = 1e9;
  for (int round = 0; round < kRounds; ++round) {
    SideFitOptions options{view.blur_px, round == 0 ? 1.0 : view.growth_px, true};
    if (round < kCoarseRounds) options.most_pixels = kCoarsePixels, options.with_shape = false;
    view.sides = fit_sides(picture, PlaneMap(map_of(h, now)), sides, tone, options);
    view.clipped_sides =
        static_cast<int>(std::count_if(view.sides.begin(), view.sides.end(), [](const SideFit& s) {
          return s.used && s.clipped_share > kMostClippedShare;
        }));
    view.used = drop_bad_sides(view.sides, true);
    if (view.used < kLeastSides) return refused(view.used);
    for (int again = 0; again < 3; ++again) {  // outlying sides go, then the rest is fitted anew
      view.fit = refine_plane(view.sides, h, lens, prior);
      if (!view.fit.converged || !view.fit.h.allFinite()) return refused(view.used);
      const double limit = kOutlierSds * std::max(1.0, view.fit.robust_sd);
      int dropped = 0;
      for (std::size_t i = 0; i < view.sides.size(); ++i)
        if (view.sides[i].used && view.fit.residual_sd[i] > limit) view.sides[i].used = false, ++dropped;
      view.used -= dropped;
      if (view.used < kLeastSides) return refused(view.used);
      if (dropped == 0) break;
    }
    h = view.fit.h;
    now = view.fit.lens;
    std::vector<double> blur, scale, offset;
    for (const SideFit& s : view.sides)
      if (s.used)
        blur.push_back(s.blur_px), scale.push_back(s.observation[0].px_per_mm),
            offset.push_back(std::abs(s.offset_px));
    view.blur_px = median(blur), view.px_per_mm = median(scale);
    view.growth_px = view.fit.growth_mm * view.px_per_mm;
    // The sides' own growth stays in their offsets; what moves is the rest.
    const double moved = median(offset);
    if (round >= 2 && std::abs(moved - before) < 5e-4) break;
    before = moved;
  }
  return view;
}

}  // namespace rondure
