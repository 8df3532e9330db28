// A part seen from the side, cut into what a drawing has.
//
// The meridian (meridian.hpp) is cut into straight lines and circular arcs by dynamic programming: the cut with
// the least  sum of squares + (parameters + 1) log N  over all cuts (Bayes information criterion, Schwarz 1978,
// from memory), N the number of independent points. Points within `blur` of a break are rounded off by the
// picture and count for neither side. Then each piece is fitted by itself (curve.hpp), and breaks are where
// neighbours meet.
//   face      line across the axis (ISO 14405-1: the ends of a width)
//   cylinder  line along the axis, where the evidence for no slope outweighs that for any (Bayes); else
//   taper     line with a slope
//   arc       crown (convex) or groove (concave): radius with a skew 95 % interval from its curvature
//   chamfer   short line at 20 to 70 degrees between two others (edge states: ISO 13715)
//   fillet    arc that runs into a face and a surface, or short into either; ends where they are nearest to its centre
// A surface beside a chamfer or a fillet has two widths: what is left of it, whose end a small edge tells badly, and that to
// the theoretical sharp corner, as drawings give it (ISO 13715).
// Lengths along the axis from the left face, mm. u: standard uncertainty of the size: points with their shared
// errors, edge offset, scale, and for a diameter the axis. A picture's points tell their scatter and how many neighbours
// share an error themselves (GUM, type A); what does not average out is a share of the floor, told by scenes with truth
// (tests/data/studies/side_scenes.txt). Breaks down: pieces shorter than about 12 px in the picture (a chamfer reads as a corner then);
// fillets smaller than 3 blurs read as a corner; two arcs of nearly one radius.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/uncertainty_source.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/profile/meridian.hpp"

namespace rondure {

enum class SegmentKind { kFace, kCylinder, kTaper, kArc, kChamfer, kFillet };
const char* segment_word(SegmentKind kind);  // "face", "cylinder", ...
std::optional<SegmentKind> parse_segment_word(const std::string& word);

struct ProfileSegment {
  SegmentKind kind = SegmentKind::kCylinder;
  std::string name;
  double from_mm = 0, to_mm = 0;                // along the axis
  double from_radius_mm = 0, to_radius_mm = 0;  // distance from the axis at its ends
  std::optional<Estimate> width_mm;             // of all but faces
  std::optional<Estimate> sharp_width_mm;  // beside a broken edge: to where the faces beyond would meet it
  std::optional<Estimate>
      diameter_mm;  // cylinder; of an arc at its top (or bottom); of a taper at its left end
  std::optional<Estimate> end_diameter_mm;  // taper: at its right end
  std::optional<Estimate> radius_mm;        // arc, fillet
  std::optional<Interval> radius95_mm;      // skew, from the curvature
  std::optional<double> top_mm;             // arc: where its largest (smallest) diameter lies, along the axis
  std::optional<double> height_mm;          // arc: top above (below) the mean of its ends, in radius
  std::optional<Estimate> angle_deg;        // taper, chamfer: to the axis
  bool concave = false;
  double flank_difference_mm = 0;  // upper minus mean flank, across the profile
  double u_flank_difference_mm = 0;
  std::vector<BudgetLine> budget;  // of the size that names it: diameter, radius or width
  double rms_mm = 0;
};

struct ProfileCutOptions {
  double blur_mm = 0;           // of the edges
  double u_edge_offset_mm = 0;  // of every edge outwards
  double u_scale_ratio = 0;
  double u_tilt_rad = 0;           // of the axis towards the camera: moves the ends apart
  double floor_mm = 0;             // standard deviation of a point's error that does not average out
  std::vector<std::string> names;  // of the main pieces, left to right; empty = by their kind
  double shared_points = 3;        // neighbours that share one error: of an outline's points 2 px apart
  double pixel_mm = 0;             // of a picture; 0 = readings by hand
  double axis_in_picture_rad = 0;  // to its rows
  double sigma_freedom = 0;        // degrees of freedom with which the points' sigma is known; 0 = fully
  int least_points = 15, least_pieces = 3;
};

struct SideProfile {
  std::vector<ProfileSegment> segments;  // left to right
  std::vector<Eigen::Vector2d> points;   // (z, r), thinned
  std::optional<Estimate> length_mm;     // left to right end face
  std::vector<BudgetLine> length_budget;
  double blur_mm = 0;               // of the picture's edges: beside a corner the points are rounded off
  double p_as_cut = 1;              // share of the evidence for these pieces and kinds
  std::optional<double> p_as_seen;  // the same of what is seen, where a part of the outline is hidden
  std::vector<Warning> warnings;
};

// Errors: kTooFewPoints, kNoAnswer, kBadArgument (as many names as main pieces are needed).
Result<SideProfile> cut_profile(const Meridian& meridian, const ProfileCutOptions& options);

}  // namespace rondure
