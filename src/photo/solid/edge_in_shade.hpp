// Where a part's edge lies in the mean of many profiles across its outline, whatever the light beside it does.
//
// From within outwards the light is that of the face, then of a strip along the inside (chamfer, fillet, the wall in its
// shade), then of the ground, which darkens towards the foot of a standing part by what of the light the part hides:
//   light = face (1 - Phi(z)) + darker (Phi(z_strip) - Phi(z)) + ground (1 - a V_even(d) - b V_above(d)) Phi(z),
//   z = (t - place) / blur, z_strip = (t - place + width) / blur, d from the foot.
// A strip or a fall of light narrower than the blur shows in nothing but the edge's shape; so every place is weighed with
// every width, all levels within their priors, and the mean of the places by their likelihood is answered, their standard
// deviation with it: where place and strip cannot be told apart it is wide. The blur is the camera's and held.
// One strip of one light: a fillet's runs on, and 0.2 px are left beside one of 0.5 mm (scene 8-003).
// Breaks down where another edge lies within two blurs of this one outside, and where the strip is lit unevenly.
// Lengths px; light linear, 1 = full scale.
#pragma once
#include <optional>
#include <vector>

#include "photo/solid/shade_beside.hpp"

namespace rondure {

struct MeanProfile {
  std::vector<double> light;    // kProfileStep_px apart
  std::vector<double> u_light;  // standard, by the scatter of the profiles; empty: not known
  double start_px = 0;          // of the first, from the outline
  bool dark_inside = false;
  double px_per_mm = 1;
  double foot_mm = 0,
         outwards = 1;  // from the wall's foot to the outline; cosine of the profile to the radius
};

struct EdgePlace {
  double at_px = 0;  // from the outline, outwards
  double u_px = 0;   // standard
};

// Light that is lost to the part: under an even sky, and where most light comes from above.
struct ShadeLaws {
  ShadeBeside even, above;
  ShadeLaws(double radius_mm, double height_mm);
};

// Half a pixel: a photograph blurred by 0.6 px or more holds nothing finer.
inline constexpr double kProfileStep_px = 0.5;

// `shade`: null beside what hardly stands. Nothing where no edge rises within four samples of the outline.
std::optional<EdgePlace> edge_in_shade(const MeanProfile& profile, double blur_px, const ShadeLaws* shade);

}  // namespace rondure
