// The edges of a fitted outline placed once more, across it.
//
// Rays meet a limb at a slant; here the light is read along the outline's own normal, mean of five neighbours, and
//   light(t) = in + rise Phi(z) + slope (t Phi(z) + blur phi(z)),  z = (t - d) / blur,
// is fitted with the blur held at the camera's: the ground beside a standing part darkens towards it (less sky is
// seen from there), and a step between two levels lies outside the edge then, by up to 0.4 px beside a thin part. What a
// single profile is too noisy to tell the mean profiles of 15 degrees do (edge_in_shade.hpp): all edges are moved inwards by
// the median of what they say, so that neither centre nor form is touched.
#pragma once
#include "photo/solid/wall_fit.hpp"

namespace rondure {

struct PlacedAcross {
  RayEdges rays;    // of the fit's edges, those placed anew; what could not be placed is left out
  double u_px = 0;  // standard, of all edges together: what the light beside them leaves open
};

PlacedAcross place_across(const Picture& picture, const MeasuringPlane& board,
                          const std::vector<float>& light_table, const CameraPlace& camera,
                          const WallFit& fit, const RayEdges& rays);

}  // namespace rondure
