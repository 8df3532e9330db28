// Round pieces of known diameter in the measured picture (gauge pin, ring, drill shank): the board gives the
// plane, they give the scale and where an edge lies.
//
// Model: a circle read as d with the board's plane has the true diameter  T = d + e,
//   e = d q + sum_k a_k z_k + own,   q ~ N(0, u_scale),  z_k ~ N(0, 1),
// z_k what all circles of the picture share: place of board and lens, height of the edge (a piece that lies at
// the part's height shares its error too), and nine tenths of the variance of the edge's offset: a tone curve that
// is not the assumed one (another gamma, an S-curve) moves every edge by its levels and blur, dark things the other
// way than bright ones. The last tenth, the noise and a height of its own belong to each circle alone. References give e_i = D_i - d_i with u(D_i); the part's e follows by
// generalised least squares (GUM supplement 2 style: linear, covariances known), each reference weighing as its
// uncertainty lets it. A piece told to stand up is sought as a solid of its size; what its wall leaves open, the bevel first
// (N(0.2, 0.2) mm; none: height told with its doubt), is its own. It is round: long waves in its edge count as doubt of its size.
// Breaks down: a bevel whose inner line is taken for the edge all round; on one side only, the long waves show it.
#pragma once
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/length.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"
#include "rondure/photo/round_edges.hpp"

namespace rondure {

struct ReferencePiece {
  Estimate diameter_mm;
  PixelPoint at;                      // somewhere inside its outline
  std::optional<Estimate> height_mm;  // of its edge above the board; absent: that of the part
  std::string text() const;           // "6.000 mm at 1210,840"
};
// "6.000mm+-0.002mm@1210,840" or "...@1210,840,12mm+-0.1mm". Without an uncertainty the rounding of its last
// digit. Errors: kBadArgument.
Result<ReferencePiece> parse_reference_piece(std::string_view text, LengthUnit bare);

// How a diameter read in the picture hangs on what all circles in it share: see the model above. mm.
struct CircleReading {
  double diameter_mm = 0;
  double u_alone_mm = 0;  // noise of its edge
  // Error of the diameter by where its edge lies: one for each way in which tone curves differ, signed, and what
  // is not the tone curve's.
  std::vector<double> tone_mm;
  double u_own_edge_mm = 0;
  double height_mm = 0;  // likewise when the part's height is wrong; signed
  double u_own_height_mm = 0;
  std::vector<double> pose_mm;
};
CircleReading circle_reading(const MeasuringPlane& plane, const RoundEdge& edge, const Circle& circle,
                             double u_alone_mm);

struct ReferenceReading {
  ReferencePiece piece;
  CircleReading reading;
  Circle outline_px;  // y down: what belongs to the piece, not to a part; radius 0: read in another picture
};
// `plane` is that of the part's edge. Errors: kNoRoundEdge (nothing round there), kBadCalibration (not of the size
// that was said by more than kMostOff_ratio, no circle, not all of it seen).
Result<ReferenceReading> read_reference_piece(const Picture& picture, const MeasuringPlane& plane,
                                              const ReferencePiece& piece, const EdgeOptions& options);

// What the references make of a circle read in the same picture; u's of the DIAMETER, mm.
struct ReferencedDiameter {
  double shift_mm = 0;  // to add to the diameter as read
  double u_reference_mm = 0, u_scale_mm = 0, u_edge_mm = 0, u_pose_mm = 0, u_height_mm = 0;
  double u_mm() const;  // root sum of squares
};

// The pieces of one picture, combined.
class ReferenceScale {
public:
  static constexpr double kMostOff_ratio = 0.05;   // of a reading from what was said
  static constexpr double kContradiction_u = 3.5;  // between board and references: the references decide
  // `u_scale_ratio`: of the board's print or the given scale. Errors: kTooFewPoints, kBadCalibration (pieces that
  // contradict each other).
  static Result<ReferenceScale> from(std::vector<ReferenceReading> pieces, double u_scale_ratio);

  ReferencedDiameter apply_to(const CircleReading& part) const;
  bool is_piece(const RoundEdge& edge) const;  // an edge of one of the references themselves
  // What the references alone say of the board: squares (or pixels) larger than said by this ratio.
  const Estimate& print_ratio() const { return print_ratio_; }
  bool contradicts_board() const { return contradicts_; }
  std::string finding(bool board) const;  // one sentence of the above
  const std::vector<ReferenceReading>& pieces() const { return pieces_; }
  bool in_picture() const;  // one of them at least

private:
  std::vector<ReferenceReading> pieces_;
  Estimate print_ratio_;
  double u_scale_ratio_ = 0;
  bool contradicts_ = false;
};

}  // namespace rondure
