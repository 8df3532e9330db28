// The views of one camera calibration while it is worked out: boards found, sides placed, bad ones left out.
#pragma once
#include <optional>
#include <vector>

#include "photo/camera/refine.hpp"
#include "photo/work_done.hpp"
#include "rondure/photo/camera.hpp"

namespace rondure {

struct WorkedView {
  std::size_t index = 0;  // of the view as given
  FoundBoard board;
  BundleView view;
  double blur_px = 1, px_per_mm = 0;
};

// Lens and poses from the corners alone (Zhang 2000 as OpenCV has it), good to a few tenths of a pixel.
// False: the corners do not determine them.
bool start_from_corners(std::vector<WorkedView>& works, const BoardSize& size, int width_px, int height_px,
                        Vector9& lens);

// Sides of every view placed where lens and pose say.
void place_sides(std::vector<WorkedView>& works, const std::vector<CalibrationView>& views,
                 const BoardSize& size, const Vector9& lens, const ToneCurve& tone, int threads,
                 WorkDone& done);

// refine_camera on all of them.
BundleFit bundle(std::vector<WorkedView>& works, const Vector9& lens, bool free_k3, bool with_covariance,
                 int threads);

// Sides that miss by far more than the others go; how many.
int drop_outliers(std::vector<WorkedView>& works);
int used_sides(const WorkedView& work);
// The view that fits far worse than the rest, or -1; never of three views or fewer.
int worst_view(const std::vector<WorkedView>& works);

double tilt_deg(const Vector6& pose);  // between the board's normal and the line of sight

// Two causes of the edges' growth told apart by the views' distances: delta_i = ink k_i + c sb_i. Empty when
// the distances are too alike.
struct InkAndTone {
  Estimate ink_mm;
  double tone_per_blur = 0;  // c
};
std::optional<InkAndTone> ink_and_tone(const std::vector<WorkedView>& works);

// Names the regions of the picture in which no view shows the board.
std::vector<Warning> coverage_warnings(const std::vector<WorkedView>& works, int width_px, int height_px);

}  // namespace rondure
