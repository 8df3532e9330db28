// Where the ellipse fit starts: algebraic conics of the points.
#pragma once
#include <optional>
#include <span>
#include <vector>

#include "ellipse_sums.hpp"
#include "point_cloud.hpp"

namespace rondure {

// Direct least-squares ellipse: conic A x^2 + B x y + C y^2 + D x + E y + F with 4 A C - B^2 = 1 (A.
// Fitzgibbon, M. Pilu, R. Fisher, IEEE PAMI 21 (1999) 476; the linear part eliminated first as by R. Halir,
// J. Flusser, WSCG 1998). Always an ellipse where the points allow one at all; shrinks partial outlines.
std::optional<RegularEllipse> direct_ellipse(std::span<const PartPoint> points,
                                             std::span<const double> weights, const PointCloud& cloud,
                                             std::size_t step = 1);

// Further starts for points that do not look like an ellipse: about the mean of the points, in several
// directions and shapes, and about `circle` (centre relative to the reference).
std::vector<RegularEllipse> further_ellipses(const PointCloud& cloud, const Eigen::Vector2d& circle_center,
                                             double circle_radius_mm);

}  // namespace rondure
