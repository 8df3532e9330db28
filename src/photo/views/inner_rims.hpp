// Bores, hubs and grooves on the top of a part that several views share.
//
// Each view names its rings with the outside's middle and height as all views have them (solid/inner_edges.hpp). Rings
// of one role and size in two views or more are one feature: a rim is adjusted in all of them at once like the outside,
// as a disc whose height the parallax tells; a hole seen through, whose outline is that of both its rims, is the weighted
// mean of the views. What only one view names, or what lies at no face's height, is not answered and said so.
#pragma once
#include <vector>

#include "photo/views/view_of_part.hpp"
#include "rondure/core/warning.hpp"

namespace rondure {

struct InnerRims {
  std::vector<JointRim> answered;  // edge.ring is set
  std::vector<Warning> warnings;   // "inner-edge-not-answered"
};
InnerRims inner_rims(const std::vector<SingleView>& singles, const AdjustedWall& outside);

}  // namespace rondure
