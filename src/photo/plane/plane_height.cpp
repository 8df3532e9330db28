#include <Eigen/LU>
#include <cmath>

#include "photo/plane/plane_parameters.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {
namespace {

// Focal length from the view itself: no worse than this, or a height of h mm under a camera H mm up would
// move a size by more than a tenth of its h / H.
constexpr double kWorstFocalRatio = 0.10;

// Relative standard uncertainty of the focal length the homography implies; infinite when some step loses it.
double u_focal_ratio(const MeasuringPlane& plane, double focal_px) {
  const double cx = (plane.width_px - 1) / 2.0, cy = (plane.height_px - 1) / 2.0;
  double variance = 0;
  const auto steps = covariance_steps(plane);
  if (steps.empty()) return INFINITY;
  for (const Eigen::VectorXd& step : steps) {
    const auto up = focal_from_homography(moved_plane(plane, step, 0).ideal_from_board, cx, cy);
    const auto down = focal_from_homography(moved_plane(plane, -step, 0).ideal_from_board, cx, cy);
    if (!up || !down) return INFINITY;
    variance += std::pow((*up - *down) / (2 * focal_px), 2);
  }
  return std::sqrt(variance);
}

}  // namespace

Result<MeasuringPlane> at_height(const MeasuringPlane& plane, double height_mm, double u_height_mm,
                                 std::optional<FocalHint> hint) {
  MeasuringPlane raised = plane;
  raised.height_mm = height_mm;
  raised.u_height_mm = u_height_mm;
  raised.focal_hint_px = 0;
  if (plane.bent)
    if (auto bent = at_height(*plane.bent, height_mm, u_height_mm))
      raised.bent = std::make_shared<const MeasuringPlane>(std::move(*bent));
  if (height_mm == 0 && u_height_mm == 0) {
    raised.ideal_from_part = plane.ideal_from_board;
    return raised;
  }
  double focal = 0;
  if (!plane.lens) {
    focal =
        focal_from_homography(plane.ideal_from_board, (plane.width_px - 1) / 2.0, (plane.height_px - 1) / 2.0)
            .value_or(0);
    const double u_ratio = focal > 0 ? u_focal_ratio(plane, focal) : INFINITY;
    if (!(u_ratio < kWorstFocalRatio)) {
      if (!hint || !(hint->focal_px > 0))
        return Error{
            ErrorCode::kBadCalibration,
            "this view does not show how far away the camera stood, so a height above the plane cannot "
            "be allowed for; "
            "needed a camera file (calibrate camera)"};
      focal = raised.focal_hint_px = hint->focal_px;
      raised.u_focal_hint_ratio = hint->u_ratio;
    }
  }
  raised.ideal_from_part = homography_at_height(plane, focal, height_mm);
  return raised;
}

}  // namespace rondure
