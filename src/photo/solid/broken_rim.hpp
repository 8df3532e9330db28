// How wide the break (chamfer, small fillet) of a bore's rim is that lies on a face, and where the edge beyond it lies.
//
// Across the rim, from the face on, the light is that of the face, then of the break, then of what lies beyond:
//   light = face (1 - Phi(z)) + break (Phi(z) - Phi(z_w)) + (beyond + slope (t - a - w)) Phi(z_w),
//   z = (t - a) / blur, z_w = (t - a - w) / blur,
// in the mean profile of each sector, less the shade beside the wall, with levels and place `a` of its own and ONE width w for
// all. Every width is weighed, levels within their priors, w = 0 (the rim as found) with half the weight beforehand; the mean
// of the edge beyond (a + w) by that weight is answered and its standard deviation with it. Only sectors in which no wall is
// seen tell the width: towards the camera. The blur is the camera's and held.
// A break is the same all round, a shadow's edge beside the rim is not: see how many sectors agree (ray-traced scene 2 of
// seed 9, a lamp into a blind bore: 0.54 mm off at u 0.05 without).
// Breaks down where another line runs within three blurs beside the rim all round, and on a break of exactly the light that lies
// beyond it: nothing tells that, and the rim as found is answered.
#pragma once
#include <optional>
#include <vector>

#include "photo/solid/light_at.hpp"
#include "photo/solid/seen_outline.hpp"
#include "photo/solid/shade_beside.hpp"

namespace rondure {

struct RimSector {
  std::vector<double> light, u_light;  // kRimStep_px apart, from the face on
  double start_px = 0;                 // of the first, from the rim as found
  double px_per_mm = 1;
  bool tells_width = true;
  double hidden_mm = 0;  // of what lies beyond, from the wall's foot to the first that is seen
};

struct BrokenRim {
  double beyond_mm = 0, u_mm = 0;  // of the radius: from the rim as found, away from the face; standard
  double width_mm = 0, u_width_mm = 0;
  double agreed_share = 0;    // of the sectors: they tell this break, and no other
  double beyond_to_face = 0;  // of the light, a blur and a half and more from the rim
};

// Half a pixel: a photograph blurred by 0.6 px or more holds nothing finer.
inline constexpr double kRimStep_px = 0.5;

// A bore's circle on a face: what lies beyond is within. Not a hub's: its shadow and its wall's shade are as narrow as a break.
struct RimOnFace {
  Eigen::Vector2d center = Eigen::Vector2d::Zero();
  double radius_mm = 0, height_mm = 0;
  double depth_mm = 0;   // of what lies beyond, at most: where its wall would show, how far its shade reaches
  double beyond_mm = 1;  // so far nothing else lies beyond
  double widest_mm = 0.6;
  double scale = 1;  // of the height, as seen
};

std::vector<RimSector> sectors_of_rim(const LightAt& light, const MeasuringPlane& board,
                                      const CameraPlace& camera, const RimOnFace& rim, double blur_px);

// Nothing where too few sectors show the rim, or where the width comes out at the widest that is weighed.
std::optional<BrokenRim> weigh_break(const std::vector<RimSector>& sectors, double blur_px,
                                     const RimOnFace& rim);

}  // namespace rondure
