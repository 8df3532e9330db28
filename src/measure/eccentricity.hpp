// How far each inner circle of a part lies off its outside (ISO 1101 coaxiality), from one photograph.
#pragma once
#include <vector>

#include "measured_edges.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

// Gives each inner edge its eccentricity and a warning that says it. The distance is that of the centres in `plane`;
// lengths mm, uncertainties standard ones. They hold: the fits of both circles; where no lens was given and the board's
// lines are bent, how differently a lens as those lines ask for places the two centres; where the inner edge's height
// is its own or not told, how far it is seen aside for each mm of it; of a standing part, where on the break of its rim
// the outside is seen, and of a bore the wall that is too thin to be told from its rim. Where a height is in doubt and
// the view does not show how far away the camera stood there is no figure, and the warning says so. Heights told for the
// whole part are taken as the same for both rims: a rim lower by dz lies dz * (distance from the camera's foot) /
// (height of the camera) aside, and that is not seen.
void add_eccentricity(std::vector<MeasuredEdge>& edges, const MeasuringPlane& plane, bool height_told);

}  // namespace rondure
