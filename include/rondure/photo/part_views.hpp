// One part in several photographs: part and board stood still, the camera moved.
//
// Every view's board tells where its camera stood; a rim at another height is then displaced between the views
// (parallax), which tells its height without a word of the user. All views are adjusted at once (src/photo/views):
// centre, radius, height and second harmonic of the outside's wall and of each inner rim, every camera free within what
// its board and the lens file leave open. The outside is a straight wall from the board up to `top_mm`, or a rim held up
// there; its lines by tests/bench/solid_scenes/make_views. Lines that lie on the board in all views are shadows, marks or
// feet, not rims. Each view is weighed against all: one in which the middle or the size is another is left out and
// says why; where two views alone contradict each other there is no answer.
// Frame: the first view's board. Lengths mm.
// What cannot be seen: with two views a part pushed along the line between the cameras by d looks higher by d / tan(angle
// between them) unless its foot is seen. Breaks down: views nearly from one place (warning "views-alike"); parts as bright
// as their ground; fillets; an outside held up by a narrower foot that is lit.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"
#include "rondure/photo/round_edges.hpp"
#include "rondure/photo/solid_part.hpp"

namespace rondure {

struct PartView {
  std::string name;  // for messages: the file
  Picture picture;
  MeasuringPlane board;  // height 0, of the board in this picture
};

// What one view alone says of the outside, its height as all have it.
struct ViewOfPart {
  std::string name;
  bool used = false;
  std::string why_not;                                 // when left out
  std::optional<Estimate> diameter_mm;                 // absent where the part is not found in it
  Eigen::Vector2d shift_mm = Eigen::Vector2d::Zero();  // of its middle from that of all
  double rms_px = 0;                                   // of its edges about the joint outline
};

struct JointRim {
  RoundEdge edge;  // points in the first view's frame, at their own height; height_mm, u_height_mm are set
  bool outside = false;
  double u_place_mm = 0;   // standard, of the DIAMETER: cameras and lens as left open by all views
  double u_height_mm = 0;  // likewise, of its height
  Eigen::Matrix2d second_harmonic_mm2 = Eigen::Matrix2d::Zero();  // of the radius, from both
  std::vector<std::vector<PixelPoint>> outlines;  // as seen in each view; empty where it is not used
};

struct PartInViews {
  std::vector<JointRim> edges;     // the outside first, then bores, hubs and grooves by size
  std::vector<NotThePart> others;  // lines on the board; drawn in the first view
  std::vector<ViewOfPart> views;   // in the order given
  std::vector<Warning> warnings;   // "view-left-out", "views-alike", "inner-edge-not-answered"
};

struct ViewsOptions {
  std::optional<Estimate> height_mm;  // of the outside's upper rim, told: a prior
  std::optional<PixelPoint> near;     // in the first view
  Eigen::MatrixXd lens_covariance;    // of fx fy cx cy k1 k2 p1 p2 k3, shared by all views; may be empty
  bool linear_light = false;
};

// Errors: kBadArgument (fewer than two views), kBadCalibration (a view does not tell where its camera stood),
// kNoRoundEdge (nothing round that two views share), kNoAnswer (two views contradict each other).
Result<PartInViews> find_part_in_views(const std::vector<PartView>& views, const ViewsOptions& options);

}  // namespace rondure
