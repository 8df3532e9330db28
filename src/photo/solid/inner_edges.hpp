// The edges on the top of a solid round part, each by what it is.
//
// Rings about the part's axis (inner_rings.hpp) are told apart by their height and by the light on both sides. The
// top face has one light; a rim with the face outside and other light inside is the upper rim of a bore or the foot
// of a hub; one with the face inside and other light outside is the rim of a hub or the inner wall of a groove; one
// without the face on either side is seen inside a bore. Sizes: a bore's at its upper rim, or from both rims where
// it is seen through or its rim is broken; a hub's between the rim of its top and its foot, since the wall between
// them is a line too thin to be resolved. What cannot be told is not named. Lengths mm.
#pragma once
#include <vector>

#include "photo/solid/ring_roles.hpp"
#include "photo/solid/wall_fit.hpp"
#include "rondure/photo/edge_role.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

struct InnerEdge {
  EdgeRole role = EdgeRole::kMark;
  WallFit fit;           // a disc at its height, or the hole between two rims
  double height_mm = 0;  // of its rim
  double u_height_mm = 0;
  double shift_mm = 0;       // of the radius: from the edges as placed to the feature's size
  double u_diameter_mm = 0;  // standard: height, and walls too thin to be resolved
};

struct InnerEdges {
  RayEdges rays;  // the fits' edges point into them
  std::vector<InnerEdge> named;
};

InnerEdges find_inner_edges(const Picture& picture, const MeasuringPlane& board,
                            const std::vector<float>& light_table, const CameraPlace& camera,
                            const PartSeen& part);

}  // namespace rondure
