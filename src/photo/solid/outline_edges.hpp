// The edges of a fitted outline placed once more, across it.
//
// Rays meet a limb at a slant; here the light is read along the outline's own normal, mean of five neighbours, and
//   light(t) = in + rise Phi(z) + slope (t Phi(z) + blur phi(z)),  z = (t - d) / blur,
// is fitted with the blur held at the camera's: the ground beside a standing part darkens towards it (less sky is
// seen from there), and a step between two levels lies outside the edge then, by up to 0.4 px beside a thin part.
#pragma once
#include "photo/solid/wall_fit.hpp"

namespace rondure {

// `rays` of the fit's edges, those placed anew; px. What could not be placed is left out.
RayEdges place_across(const Picture& picture, const MeasuringPlane& board,
                      const std::vector<float>& light_table, const CameraPlace& camera, const WallFit& fit,
                      const RayEdges& rays);

}  // namespace rondure
