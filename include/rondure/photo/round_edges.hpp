// Finds the round edges of a photograph and places them to hundredths of a pixel.
//
// Finding works on a reduced picture: edge chains, arcs of circles in the part plane, support of all edge
// points. Placing works on the samples themselves, in light (tone curve undone): the band of pixels along the
// edge is cut into sectors, and in each the displacement d of the edge is the weighted least-squares value of
//   light(s) = dark + (bright - dark) Phi((s - d) / blur),  s = distance from the predicted outline, px,
// levels common to a stretch of the edge, blur common to the edge, Phi the normal distribution's integral (a
// Gaussian blur of a step; pixel's own box included). This reaches the noise bound of a step edge within
// about a tenth. The edge of a disc of radius R lies blur^2 / 2R outside the half-level line so found (blur
// pulls curved edges inwards, Mendonca et al., "Bias in the localization of curved edges", ECCV 2004):
// corrected with the fitted blur (left over without noise, blur 2: below 0.0005 px at R >= 40, 0.007 at R =
// 20; the uncertainty holds it). Breaks down: edges closer together than about 3 blur; penumbras; a bright
// side more than half clipped in a picture whose blur is not Gaussian; rounded or glossy rims, where the
// light's edge is not the part's.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/photo/edge_role.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct EdgeOptions {
  std::optional<PixelPoint> near;  // only the round edges around this point
  bool linear_light = false;       // the picture's values are proportional to light (no tone curve)
  double min_diameter_px =
      16;  // smaller ones are not looked for (in large pictures the limit is 8 reduced px)
};

// The upright wall of a solid part, whose seen outline an edge is (solid_part.hpp).
struct SeenWall {
  PartPoint center;  // part plane
  double radius_mm = 0;
  double foot_mm = 0, top_mm = 0;  // of the straight wall, above the board's plane
  double u_top_mm = 0;
  bool height_seen = false;  // the picture tells the height: the camera's foot point lies outside
  double u_fit_mm = 0;  // standard uncertainty of the DIAMETER from the height and the doubt of the outline
  Eigen::Matrix2d second_harmonic_mm2 = Eigen::Matrix2d::Zero();  // likewise, of the radius's second harmonic
  std::vector<PixelPoint> outline;                                // as drawn: round the seen outline
};

// An inner edge of a solid part.
struct SeenRing {
  EdgeRole role = EdgeRole::kBore;
  double u_diameter_mm = 0;         // standard: from its height, and from walls too thin to be resolved
  std::vector<PixelPoint> outline;  // as drawn
};

// One round edge: points in order round it (counter-clockwise in the part plane), with their standard
// uncertainty.
struct RoundEdge {
  std::vector<MeasuredPoint> points;  // mm; sigma_mm from the noise of the picture, per point
  std::vector<PixelPoint> pixels;     // the same points in the picture
  Circle rough_px;                    // in pixels, y DOWN, for drawing and sorting
  bool dark_inside = true;
  double blur_px = 0;           // Gaussian sigma of the edge, pixel box included
  double clipped_share = 0;     // share of the bright side within 5 px at full scale
  double u_edge_offset_mm = 0;  // per edge (radius): tone curve and clipping
  // Of each component of the radius's second harmonic: errors neighbouring points share in a JPEG picture.
  double u_second_harmonic_mm = 0;
  std::vector<Warning> warnings;

  double px_per_mm = 0;                        // at the edge, mean over its directions
  double light_inside = 0, light_outside = 0;  // 1 = full scale
  double noise_px = 0;                         // median standard uncertainty of a point, px
  double over_squares_share = 0;  // of the outline, left out: sides of a board's squares beside it
  double clipping_shift_px = 0;   // what clipping would have moved the radius by; taken off
  double coverage_deg = 0;        // angles at which the edge was placed
  std::optional<SeenWall>
      wall;  // the outline of a solid: the points lie on its circle, whatever their height
  std::optional<SeenRing> ring;
  bool hole = false;                  // seen through: both rims bound it
  std::optional<double> height_mm;    // of this edge above the board's plane, where it is not the plane's
  std::optional<double> u_height_mm;  // of that height, or of the plane's where there is no other
};

// All round edges, largest first. Errors: kNoRoundEdge (what was found instead).
Result<std::vector<RoundEdge>> find_round_edges(const Picture& picture, const MeasuringPlane& plane,
                                                const EdgeOptions& options = {});

}  // namespace rondure
