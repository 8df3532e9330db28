// An edge whose bright side is over-exposed: what the unclipped rest of its mean profile says.
#pragma once
#include <array>
#include <cstdint>
#include <functional>
#include <vector>

namespace rondure {

struct ClippedStep {
  double dark = 0, bright = 0;  // levels; bright may lie beyond full scale
  double d_px = 0, blur_px = 1;
  double u_d_px = 0;  // standard, scaled by the misfit
};

// Mean light in bins of kClippedBin_px about the edge's place, all sectors together.
inline constexpr double kClippedBin_px = 0.2;
struct StepProfile {
  static constexpr int kHalf = 40;  // bins on either side: 8 px, where a step of blur 1.4 px has ended
  std::vector<double> sum, count, unclipped;  // 2 kHalf + 1 bins; unclipped: samples below full scale
  StepProfile() : sum(2 * kHalf + 1, 0.0), count(sum), unclipped(sum) {}
  void add(double t_px, double light, bool clipped);
};

// Least squares (Levenberg-Marquardt) of a blurred step over the bins that hold no clipped sample;
// `variance`: of one sample at a share of the bright level. Too little left to tell (u_d_px would be 1 or
// more): `start` as it is, with u_d_px = 2.
ClippedStep fit_clipped_step(const StepProfile& profile, const ClippedStep& start,
                             const std::function<double(double)>& variance);

// Standard uncertainty that JPEG leaves of a place so found, px: its quantisation smears the shoulder of the
// profile that tells how far beyond full scale the light went, and what is left of the profile shrinks as the
// dark side comes near full scale. A law of the mean quantisation step of the 15 lowest frequencies, the
// fit's own u_d_px, its blur and its dark level (1 = full scale), fitted to drawn discs of 100 to 190 px
// radius, 1.3 to 3 times over-exposed, JPEG 95 to 75, blur 0.6 to 1.3 px (tests/bench/study_photo_tone,
// scenes from 1000 on; the table there is of others). At most 2 px, where nothing is told.
double u_jpeg_clipping_px(const std::array<std::uint16_t, 64>& jpeg_steps, const ClippedStep& step);

}  // namespace rondure
