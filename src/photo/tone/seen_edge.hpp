// How the fit of a board's side (board_sides.hpp) sees an edge when the tone curve it assumes is not the
// camera's.
//
// Model: light rises over the edge as lo + (hi - lo) Phi(t / blur); the camera stores it through its own
// curve; the fit takes it for A + B Phi((t - d) / sb) through the assumed one, in stored values, then asks
// for two terms of the Gram-Charlier series more, B (skew He2(z) + peak He3(z)) phi(z). With the right curve
// d = skew = peak = 0 for a Gaussian blur; any blur symmetric about its middle has skew 0. A wrong curve
// shifts the edge (d), as ink does, and skews it, as ink does not.
#pragma once
#include <array>

#include "photo/board/board_sides.hpp"
#include "photo/tone/tone_shift.hpp"

namespace rondure {

struct SeenEdge {
  double toward_bright_px = 0;  // the fit's place, from the true one
  double blur_px = 0;           // of the light itself
  double skew = 0, peak = 0;
  std::array<double, 4> fit{};  // A, B, d and sb; all 0 where it is seen as it is
};

// `look`: as the fit gave it with the assumed curve (whose table is `assumed_table`). An edge without
// contrast, or beyond what the fit can follow, is seen as it is. `near`: what a camera's curve much like this one
// gave, to start from; the answer is the same.
SeenEdge seen_edge(const ToneCurve& camera, const ToneCurve& assumed, const ToneTable& assumed_table,
                   const EdgeLook& look, const SeenEdge* near = nullptr);

}  // namespace rondure
