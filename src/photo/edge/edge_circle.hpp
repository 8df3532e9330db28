// The simple circle through an edge's points in the part plane, for sorting and first guesses.
#pragma once
#include <vector>

#include "photo/edge/algebraic_circle.hpp"
#include "rondure/photo/round_edges.hpp"

namespace rondure {

// A circle of radius 0 where the points lie on none.
inline Circle simple_circle(const RoundEdge& edge) {
  std::vector<Eigen::Vector2d> points;
  for (const MeasuredPoint& p : edge.points) points.push_back(p.at.vec());
  return algebraic_circle(points).value_or(Circle{});
}

}  // namespace rondure
