// The straight round wall whose seen outline the edges met by rays support best.
//
// Score of a wall = mean over the rays of the best weighted edge on its outline, less 0.6 of the mean of the best
// weighted edge left outside it (up to 0.12 R): "outermost" alone fails on textured ground, "best ring" alone takes
// inner rings. A grid of walls, refined three times; then one edge a ray and robust least squares (Cauchy), its
// scale falling from 2 to 0.4 px. Where a shadow joins, a short soft stretch lies off: it is left out.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "photo/solid/ray_edges.hpp"
#include "photo/solid/seen_outline.hpp"

namespace rondure {

// What is taken for known of the wall's heights.
struct WallShape {
  double foot_mm = 0, top_mm = 0;
  double u_top_mm = 0;  // 0: held
  bool tied = false;    // the foot keeps its distance from the top
  bool hole = false;
  bool oval = false;     // the second harmonic is free, within a prior
  double radius_mm = 0;  // known as well as kUKnownRadius_ratio; 0: free
};
inline constexpr double kUKnownRadius_ratio = 0.01;  // as a board shows it whose print is not known

inline constexpr double kNeighbourRays = 12;  // rays that share their errors
inline constexpr double kOval_ratio =
    0.0025;  // of the radius: prior of the second harmonic, 0.5 % of ovality
inline constexpr double kEdgeNoise_px = 0.07;  // an edge is placed no better

enum class Polarity { kAny, kDarkInside, kBrightInside };

struct ChosenEdge {
  int ray = 0;
  const RayEdge* edge = nullptr;
  double miss_px = 0;  // signed, outwards
};

struct WallFit {
  RoundWall wall;
  WallShape shape;
  double score = 0;   // at 0.7 px, without polarity: 1 at best
  double cover = 0;   // share of the rays with an edge on the outline
  double rms_px = 0;  // of the chosen ones
  // Of the fit, 12 neighbouring rays as one. What the unknown height and the oval add to the radius and to the second
  // harmonic, over what the edges' own scatter does.
  double u_top_mm = 0, u_radius_mm = 0;
  Eigen::Matrix2d second_harmonic_mm2 = Eigen::Matrix2d::Zero();
  std::vector<ChosenEdge> chosen;
};

struct WallStart {
  Eigen::Vector2d center = Eigen::Vector2d::Zero();
  double radius_mm = 0, span_ratio = 0.15;  // looked for so far either side, of the radius
};

// Best first; empty when nothing is supported.
WallFit fit_wall(const RayEdges& edges, const CameraPlace& camera, const std::vector<WallStart>& starts,
                 const WallShape& shape);

// How well the edges bear one outline out, without polarity, every so many rays.
double outline_score(const RayEdges& edges, const CameraPlace& camera, const RoundWall& wall, double scale_px,
                     int every);
// Of each ray the best edge within so much of the outline; `drop_far`: without those beyond 3 robust deviations.
std::vector<ChosenEdge> edges_on_outline(const RayEdges& edges, const CameraPlace& camera,
                                         const RoundWall& wall, double reach_px, bool drop_far);

// The same outline by edges placed anew, one a ray; nothing is searched for. Without chosen edges when too few agree.
WallFit refit_wall(const RayEdges& placed, const CameraPlace& camera, const WallFit& from);

}  // namespace rondure
