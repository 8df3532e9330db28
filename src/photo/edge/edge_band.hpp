// The pixels along one predicted round outline, cut into sectors.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct BandPixel {
  float s_px = 0;   // distance from the predicted outline, outwards
  float light = 0;  // 1 = full scale
  bool clipped = false;
};

struct Sector {
  Eigen::Vector2d at;       // predicted edge point in the picture, px
  Eigen::Vector2d outward;  // unit normal in the picture
  double curvature_radius_px = 0;
  double length_px = 0;    // along the edge
  int begin = 0, end = 0;  // its pixels
};

struct EdgeBand {
  std::vector<Sector> sectors;  // counter-clockwise in the part plane
  std::vector<BandPixel> pixels;
  int sectors_around = 1;  // of the whole outline, those beyond the picture too
  int over_squares = 0;    // sectors left out as a side of a board's square runs beside the outline
  double reach_px = 0;
  double quantum_light = 0;  // light of one step of the samples at mid scale
  // Where the edge is looked for, of each sector, and so far either side; empty: in all of the band, on the
  // predicted outline first.
  std::vector<double> expected_px;
  double expected_reach_px = 0;
};

// Sectors of about 2 px, at most `most_sectors`; those beyond the picture, or where a side of a board's
// square runs beside the outline, are left out.
EdgeBand cut_edge_band(const Picture& picture, const MeasuringPlane& plane,
                       const std::vector<float>& light_table, const Circle& circle, double reach_px,
                       int most_sectors = 1440);

}  // namespace rondure
