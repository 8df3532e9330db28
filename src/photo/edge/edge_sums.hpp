// Sums over the pixels of one sector, for the fit of a blurred step (edge_placing.cpp): several pixels side by side.
//
// Model: light = (dark + dark_slope t)(1 - b) + (bright + bright_slope t) b, with b the normal law's share of t / blur,
// 0 or 1 beyond six blurs; its variance runs with b from dark to bright. A residual beyond 3.5 standard deviations weighs
// less (Huber's weight, falling).
#pragma once
#include <vector>

namespace rondure {

// Pixels of the sectors one after the other, each sector filled up with pixels that do not count.
struct WindowPixels {
  static constexpr int kSideBySide = 8;  // doubles of a register of 512 bits
  std::vector<float> s_px, light;
  std::vector<float> counts;  // 1, or 0: not looked at
};

struct SectorStep {
  double d_px = 0;                          // displacement
  double dark = 0, bright = 0;              // levels
  double dark_slope = 0, bright_slope = 0;  // light per px
};

struct StepLaw {
  double sign = 1;  // +1: light rises outwards
  double blur_px = 1;
  double dark_variance = 1, bright_variance = 1;
  bool robust = true;
};

// Normal equations of the levels; rows are (1 - b, b) times (1, t). Without slopes the first of each alone.
struct LevelSums {
  double dd[3] = {}, db[3] = {}, bb[3] = {};  // weighted products of 1 - b and b, times 1, t and t^2
  double dl[2] = {}, bl[2] = {};              // with light
};

struct StepSums {
  double gradient = 0, information = 0;
  double chi2 = 0, weight = 0;  // within three blurs of the edge
};

// Of pixels first ... last - 1, a whole number of kSideBySide.
LevelSums level_sums(const WindowPixels& pixels, int first, int last, const SectorStep& step,
                     const StepLaw& law, bool slopes);
StepSums displacement_sums(const WindowPixels& pixels, int first, int last, const SectorStep& step,
                           const StepLaw& law);
StepSums blur_sums(const WindowPixels& pixels, int first, int last, const SectorStep& step,
                   const StepLaw& law);

}  // namespace rondure
