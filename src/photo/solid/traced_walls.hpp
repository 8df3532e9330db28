// From the fit of a wall or rim to what the rest of the program measures and draws: points round it in the part's plane,
// with what is not known of the edge, and its outline in the picture.
#pragma once
#include <vector>

#include "photo/solid/seen_outline.hpp"
#include "photo/solid/wall_fit.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/round_edges.hpp"
#include "rondure/photo/tone_curve.hpp"

namespace rondure {

struct TracedWalls {
  CameraPlace camera;
  MeasuringPlane board;  // z = 0
  ToneCurve tone;
  bool tone_known = false;

  // One point for each direction of the outline's normal: a limb has one direction, its points one place.
  RoundEdge edge_of(const WallFit& fit, const RayEdges& rays) const;
  SeenWall wall_of(const WallFit& fit) const;
  std::vector<PixelPoint> outline_of(const RoundWall& wall) const;
};

}  // namespace rondure
