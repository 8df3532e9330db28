// What the errors that neighbouring points of an edge share leave of its lowest harmonics.
#pragma once
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure {

// Standard deviation of one component (cosine or sine) of the radius's second harmonic in a compressed
// picture, mm, beyond what the points' own sigmas explain. JPEG's blocks smear along the edge: the spectrum
// of the errors is flat from order 3 to 24 (drawn pictures, quality 75), so the edge's own harmonics of
// orders 6 to 16 show its height; their median is taken, chance being exponentially distributed, so that a
// few lobes of the part's own count for nothing; points far off a smooth outline (nibs, nicks) are left out.
// Order 2 has up to twice as much: the quantisation of vertical and of horizontal frequencies differs, and
// what it does to top and bottom alike, and to left and right, is a second harmonic. 0 when nothing is left,
// or when less than 330 deg of the outline is seen.
double shared_second_harmonic_mm(const std::vector<MeasuredPoint>& points, const Circle& circle,
                                 double coverage_deg);

}  // namespace rondure
