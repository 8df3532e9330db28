// How many neighbouring points of an edge, of some 360 round it, share their errors in a JPEG picture.
#pragma once

namespace rondure {

// By judgement: 12 points 1 to 2 px apart lie in two or three of JPEG's blocks of 8 px. Whether the
// uncertainties that follow are right is checked by tests/bench/solid_scenes, study_scanner and
// study_reference_piece.
inline constexpr double kNeighbours = 12;

}  // namespace rondure
