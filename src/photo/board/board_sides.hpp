// The sides of a chessboard's squares, each placed in the picture as a whole.
//
// A side is a straight line of the board between a black square and a white one (or the paper). Given a first
// guess of where the board lies, the pixels within a few blurs of the predicted line, its ends left out, are
// fitted in the stored values y with
//     y = T( A + B Phi( (s - d0 - d1 t) / sb ) )
// T the tone curve (light -> value), s the signed distance from the predicted line in px, positive towards
// white, t in
// [-1, 1] along the used length, Phi the normal law; A, B, d0, d1 and the blur sb free for every side. What a
// pose fit then needs are two one-direction observations a side, at t = +-1/sqrt(3) (the nodes of two-point
// Gauss quadrature, where the two displacements d0 +- d1/sqrt(3) are independent).
#pragma once
#include <Eigen/Core>
#include <vector>

#include "photo/plane/plane_map.hpp"
#include "rondure/photo/board.hpp"
#include "rondure/photo/picture.hpp"
#include "rondure/photo/tone_curve.hpp"

namespace rondure {

struct BoardSide {
  Eigen::Vector2d from_mm, to_mm;   // ends, board frame
  Eigen::Vector2d toward_white_mm;  // unit normal, board frame
  bool outer = false;               // between a border square and the paper
};
// All sides of the lattice; outer ones where the board's border was seen.
std::vector<BoardSide> sides_of(const FoundBoard& board, double square_mm);

// A one-direction observation: the point board_mm, moved by the ink's growth, is seen on the line through
// pixel q with unit normal n (towards white).
struct EdgeObservation {
  Eigen::Vector2d board_mm, normal_board;  // place on the nominal line, and towards white
  Eigen::Vector2d q_px, normal_px;
  double px_per_mm = 0;  // across the edge
  double sd_px = 0;
};

struct SideFit {
  bool used = false;
  bool outer = false;
  double offset_px = 0, turn_px = 0;  // d0, d1
  double sd_offset_px = 0;
  double blur_px = 0, contrast = 0;  // contrast in light
  double dark_light = 0;
  double skew = 0, peak = 0;  // of the profile (seen_edge.hpp), when asked for
  double rms = 0;             // of the stored values, full scale = 1
  double clipped_share = 0;   // of the light side's pixels at full scale
  Eigen::Vector2d middle_px;
  EdgeObservation observation[2];
};

struct SideFitOptions {
  double blur_px = 1.0;  // first guess, and what the length left out at the ends depends on
  double shift_px = 0;   // expected displacement of the edges (ink, tone)
  bool with_shape = false;
  std::size_t most_pixels = 3000;  // per side; more are thinned out evenly
};

// Light -> stored value (full scale 1) by table, with its slope.
class ToneTable {
public:
  explicit ToneTable(const ToneCurve& curve);
  void at(double light, double& value, double& slope) const;

private:
  std::vector<double> values_;
};

// Pixels so far from a side's line are fitted, where the squares are large enough.
double side_band_half_width_px(double blur_px);

std::vector<SideFit> fit_sides(const Picture& picture, const PlaneMap& map,
                               const std::vector<BoardSide>& sides, const ToneCurve& tone,
                               const SideFitOptions& options);

}  // namespace rondure
