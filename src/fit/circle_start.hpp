// Hyper-accurate algebraic circle (A. Al-Sharadqah, N. Chernov, Electronic Journal of Statistics 3 (2009)
// 886): minimises the mean of (A z + B x + C y + D)^2, z = x^2 + y^2, under 8 zm A^2 + 4 A D + B^2 + C^2 = 1
// (points centred, zm = mean z). Its radius has no bias of the order sigma^2. Here it is only where the
// geometric fit starts.
#pragma once
#include <span>

#include "circle_sums.hpp"
#include "point_cloud.hpp"

namespace rondure {

// Anchored at the point of the circle nearest the mean of the points. Never fails on points that refusal()
// lets pass: where the algebraic answer is a straight line, a very flat circle comes back.
AnchoredCircle hyper_circle(std::span<const PartPoint> points, std::span<const double> weights,
                            const PointCloud& cloud, std::size_t step = 1);

}  // namespace rondure
