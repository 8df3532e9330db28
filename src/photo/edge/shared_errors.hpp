// How many neighbouring points of an edge, of some 360 round it, share their errors in a JPEG picture.
#pragma once

namespace rondure {

inline constexpr double kNeighbours = 12;

}  // namespace rondure
