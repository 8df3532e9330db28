// The camera's tone curve as the board's edges and the part's own edge tell it, for one edge of the part.
//
// Four observations hang on the curve's numbers (g, a, w of tone_curve.hpp): with the right curve the
// board's black edges have grown by the ink alone; their profile has no skewness (the mean of four
// directions: a lens's own cancels), which ink cannot give and a wrong curve does; no overshoot less
// than none; and the part's edge is as
// blurred as the board's (same plane, same lens; a wrong curve acts differently on different contrasts).
// Skewness comes from elsewhere too, and is taken only as well as these allow: sharpening and JPEG, of which
// the profile's overshoot tells; light that spreads in the board's paper, the more the larger the picture.
// Ten hypotheses are weighed by their evidence (Laplace's method): the curve is sRGB, sRGB bent, of another
// gamma, also bent, or with a shoulder; the part's edge is as sharp as the board's, or has a blur of its own
// (rounded rim, other distance). The heaviest gives the curve with which the edge is placed, the
// mean of all its place; the uncertainty is their spread about it, and a share of the shift for curves that are none of these. Without the ink known a
// weak gamma hides behind it: the uncertainty says so. Breaks down for curves far from the family: a strong
// shoulder leaves some hundredths of a pixel.
#pragma once
#include "photo/tone/tone_shift.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

struct PartEdge {
  ToneCurve curve;  // with which it was placed
  EdgeLook look;
  double u_blur_px = 0;
  bool raised = false;  // not at the board's height: its blur may be another
};

struct ToneFinding {
  ToneCurve curve;
  double moved_px = 0;   // where this curve moves the part's edge, towards the bright side
  double beyond_px = 0;  // the mean of all hypotheses moves it so much further
  double u_edge_px = 0;  // standard uncertainty of the edge's place there
};

// `assumed`: the curve the board was placed with; `jpeg_step`: mean quantisation step of the picture's file,
// grey levels, 0 when it is no JPEG.
ToneFinding weigh_tone_curves(const ToneCurve& assumed, const BoardEdges& board, const PartEdge& part,
                              double jpeg_step);

}  // namespace rondure
