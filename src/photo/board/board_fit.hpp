// The loop of one view: place the sides where the map says, throw out bad ones, move the map, again.
#pragma once
#include <optional>

#include "photo/board/board_sides.hpp"
#include "photo/camera/refine.hpp"
#include "rondure/photo/board.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct ViewFit {
  std::vector<SideFit> sides;
  PlaneFit fit;
  double blur_px = 1, px_per_mm = 0;
  double growth_px = 0;  // fit.growth_mm in px
  int used = 0;
  int clipped_sides = 0;
};

// Homography of the coarse corners, through the lens if there is one. Errors: kNoBoard.
Result<Eigen::Matrix3d> homography_from_corners(const FoundBoard& board, double square_mm,
                                                const std::optional<Lens>& lens);

// Errors: kNoBoard when too few sides can be placed (squares too small, blurred, covered).
Result<ViewFit> fit_view(const Picture& picture, const FoundBoard& board, double square_mm,
                         const ToneCurve& tone, const Eigen::Matrix3d& start, const std::optional<Lens>& lens,
                         const std::optional<LensPrior>& prior);

// Marks as unused: sides of weak contrast, clipped, badly fitted, or of odd blur. Returns how many are left.
int drop_bad_sides(std::vector<SideFit>& sides, bool noisy_too);

MeasuringPlane map_of(const Eigen::Matrix3d& h, const std::optional<Lens>& lens);

}  // namespace rondure
