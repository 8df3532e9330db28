// A quick circle through many points, for finding; the measured circle comes from the fit module.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure {

// In the unit of the points. Nothing when they lie on a line or are fewer than three.
std::optional<Circle> algebraic_circle(const std::vector<Eigen::Vector2d>& points);

}  // namespace rondure
