// The rings that a camera sees on the top of an upright solid of revolution: horizontal circles about its axis.
//
// In coordinates of the plane z = 0 the circle (c, R) at height z is seen as the circle with centre
// n + s (c - n) and radius s R, s = H / (H - z). With the axis known two numbers are left, z and R: every edge that
// rays meet votes for the R that puts it on the circle at height z, and the best supported (z, R) is fitted, taken
// out, and so on. How well z is told: u(z) = u(axis) H / d, d = distance of the axis from the camera's foot point.
// Lengths mm.
#pragma once
#include <vector>

#include "photo/solid/ray_edges.hpp"
#include "photo/solid/seen_outline.hpp"

namespace rondure {

struct Axis {
  Eigen::Vector2d at = Eigen::Vector2d::Zero();
  double u_mm = 0.05;  // of each coordinate, for one ring: its own eccentricity included
};

struct RingEdge {
  int ray = 0;
  const RayEdge* edge = nullptr;  // of the rays searched
  double weight = 0, miss_px = 0;
};

struct InnerRing {
  Eigen::Vector2d center = Eigen::Vector2d::Zero();
  double radius_mm = 0, height_mm = 0;
  double u_radius_mm = 0, u_height_mm = 0;  // height free
  double u_height_on_axis_mm = 0;           // were the axis known: of differences between rings of one axis
  double support = 0;                       // mean weight over the rays
  double cover = 0, near_cover = 0,
         far_cover = 0;  // share of the rays; of those towards the camera, away from it
  double dark_inside_share = 0;
  double rms_px = 0;
  std::vector<RingEdge> edges;
};

struct RingSearch {
  double least_height_mm = 0, most_height_mm = 0;
  double least_radius_mm = 0, most_radius_mm = 0;
  double least_support = 0.12;
  int most_rings = 10;
};

// Best supported first.
std::vector<InnerRing> find_inner_rings(const RayEdges& edges, const CameraPlace& camera, const Axis& axis,
                                        const RingSearch& search);

// The same edges again: their ring's height held, its centre free within the axis' u.
InnerRing at_height(const InnerRing& ring, double px_per_mm, const CameraPlace& camera, const Axis& axis,
                    double height_mm);

}  // namespace rondure
