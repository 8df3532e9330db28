// Whether the ground begins at a round edge: light and texture just outside it are those farther off.
//
// Sectors about the edge are compared one by one, since a board, a shadow or another part takes some of them. A bore
// taken for an outside has its part's face around it: smooth, and of one light up to the part's real outline. A part
// as smooth and as bright as its ground is not told from it.
#pragma once
#include "photo/solid/light_at.hpp"
#include "photo/solid/seen_outline.hpp"

namespace rondure {

struct Beside {
  bool as_farther_off = true;        // false: most sectors have other light or texture farther off
  bool of_one_light = false;         // all round: a face, where it is not as farther off
  bool of_nearly_one_light = false;  // a face in uneven light
  // Farther out, in nearly all directions, it is clearly brighter: a dark face that ends there.
  bool ends_all_round = false;
};

// `disc`: its top circle, at a size of `px_per_mm` on the board.
Beside ground_beside(const LightAt& light, const MeasuringPlane& board, const CameraPlace& camera,
                     const RoundWall& disc, double px_per_mm, double blur_px);

}  // namespace rondure
