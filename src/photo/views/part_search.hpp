// Where one part stands, from what single views show of it: hypotheses of place, size and height that the edges of all
// views together bear out. Lengths mm; the frame is the first view's.
#pragma once
#include <optional>
#include <vector>

#include "photo/views/joint_wall.hpp"
#include "rondure/photo/part_views.hpp"

namespace rondure {

// A view with what was found in it alone.
struct SingleView {
  const PartView* view = nullptr;
  CameraPlace camera;
  BoardTurn turn;
  std::vector<float> light_table;
  std::vector<CameraStep> steps;
  std::vector<RoundEdge> edges;  // as placed on the board's plane
  std::vector<RoundWall> walls;  // outsides with the height the view tells or takes; view frame
};

struct PartStart {
  RoundWall wall;
  bool disc = false;
  std::vector<double> scores;  // of each view
  int views = 0;               // that bear it out
  double total() const;
};

inline constexpr double kViewBears_score = 0.45;  // an outline out

// The views' rays round a wall, for all its heights within `rise_mm`.
std::vector<ViewOfWall> rays_round(const std::vector<SingleView>& views, const RoundWall& wall,
                                   double rise_mm);

// What single views propose, largest first: circles of unknown height (foot = top = 0) and walls of known.
struct PartSeed {
  std::size_t view = 0;
  RoundWall wall;  // view frame
  bool height_known = false;
};
std::vector<PartSeed> seeds_of(const std::vector<SingleView>& views, const std::optional<PixelPoint>& near);

// The best hypothesis from one seed; empty when fewer than two views bear it out.
std::optional<PartStart> start_from(const std::vector<SingleView>& views, const PartSeed& seed);

}  // namespace rondure
