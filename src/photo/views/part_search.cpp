#include "photo/views/part_search.hpp"

#include <algorithm>
#include <cmath>

#include "photo/edge/algebraic_circle.hpp"
#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

// Rims up to so high are looked for (those of study_views stand 2 to 9 mm up). A step moves the rim by 0.2 mm
// where the camera leans by 18 degrees: at 20 px/mm no more than kCoarse_px.
constexpr double kHighest_mm = 24, kHeightStep_mm = 0.6;
constexpr double kCoarse_px = 4, kFine_px = 1.5;  // how near an outline edges count: of the grid, of the fit
constexpr int kRays = 360, kLargeRays = 720;      // some 5 px apart at the rim, up to 600 px of radius
constexpr double kLarge_px = 300;                 // radius
constexpr int kEvery = 4;                         // of the rays, for scores only: time
constexpr double kSameSeed_ratio = 0.03;          // of the radius, place and size together; by judgement
constexpr std::size_t kMostOfAView = 4;           // the largest: outsides come before rings; time

double scale_px_per_mm(const MeasuringPlane& board, const Eigen::Vector2d& at) {
  const auto j = pixel_per_part(board, PartPoint::from(at));
  return j ? std::sqrt(std::abs(j->determinant())) : 0;
}

RoundWall in_first_frame(const BoardTurn& turn, RoundWall wall) {
  wall.center = turn.first_from_view(wall.center);
  return wall;
}

RoundWall seen_by(const ViewOfWall& view, RoundWall wall, bool disc) {
  if (disc) wall.foot_mm = wall.top_mm;
  return view.turn.wall_in_view(wall);
}

// A hypothesis' scores in all views.
PartStart scored(const std::vector<ViewOfWall>& views, const RoundWall& wall, bool disc, double scale_px) {
  PartStart start{wall, disc, {}, 0};
  for (const ViewOfWall& v : views) {
    start.scores.push_back(outline_score(v.rays, v.camera, seen_by(v, wall, disc), scale_px, kEvery));
    start.views += start.scores.back() > kViewBears_score;
  }
  return start;
}

}  // namespace

double PartStart::total() const {
  double sum = 0;
  for (const double s : scores) sum += std::max(0.0, s);
  return sum;
}

std::vector<ViewOfWall> rays_round(const std::vector<SingleView>& views, const RoundWall& wall,
                                   double rise_mm) {
  std::vector<ViewOfWall> all;
  for (const SingleView& v : views) {
    ViewOfWall w{v.camera, v.turn, {}, v.steps, true};
    const RoundWall here = v.turn.wall_in_view(wall);
    const double middle = 0.5 * here.top_mm, scale = v.camera.scale_at(middle);
    const Eigen::Vector2d at = v.camera.seen_at(here.center, middle);
    // how far the rim is displaced if it is so much higher
    const double reach =
        (v.camera.seen_at(here.center, here.top_mm + rise_mm) - v.camera.seen_at(here.center, here.top_mm))
            .norm() +
        0.5 * (v.camera.seen_at(here.center, here.top_mm) - v.camera.seen_at(here.center, 0)).norm();
    const double r = here.radius_mm * scale, from = std::max(0.2 * r, 0.72 * r - reach), to = 1.3 * r + reach;
    const bool large = to * scale_px_per_mm(v.view->board, at) > kLarge_px;
    w.rays = find_ray_edges(v.view->picture, v.view->board, v.light_table, at, from, to,
                            large ? kLargeRays : kRays);
    all.push_back(std::move(w));
  }
  return all;
}

std::vector<PartSeed> seeds_of(const std::vector<SingleView>& views, const std::optional<PixelPoint>& near) {
  std::vector<PartSeed> seeds;
  std::optional<Eigen::Vector2d> wanted;
  if (near)
    if (const auto at = part_from_pixel(views.front().view->board, *near)) wanted = at->vec();
  for (std::size_t k = 0; k < views.size(); ++k) {
    std::vector<PartSeed> own;
    for (const RoundWall& wall : views[k].walls) own.push_back({k, wall, true});
    for (const RoundEdge& edge : views[k].edges) {
      std::vector<Eigen::Vector2d> points;
      for (const MeasuredPoint& p : edge.points) points.push_back(p.at.vec());
      if (const auto c = algebraic_circle(points))
        own.push_back({k, {c->center.vec(), c->radius_mm, 0, 0, false, Eigen::Vector2d::Zero()}, false});
    }
    if (wanted && k == 0)
      std::erase_if(
          own, [&](const PartSeed& s) { return (s.wall.center - *wanted).norm() > 1.2 * s.wall.radius_mm; });
    std::stable_sort(own.begin(), own.end(), [](const PartSeed& a, const PartSeed& b) {
      return a.wall.radius_mm > b.wall.radius_mm;
    });
    std::vector<PartSeed> kept;
    for (const PartSeed& s : own) {
      const bool same = std::any_of(kept.begin(), kept.end(), [&](const PartSeed& other) {
        return other.height_known == s.height_known &&
               (other.wall.center - s.wall.center).norm() +
                       std::abs(other.wall.radius_mm - s.wall.radius_mm) <
                   kSameSeed_ratio * s.wall.radius_mm;
      });
      if (!same && kept.size() < kMostOfAView) kept.push_back(s);
    }
    seeds.insert(seeds.end(), kept.begin(), kept.end());
  }
  // The first view alone when the part is pointed at.
  if (wanted) std::erase_if(seeds, [](const PartSeed& s) { return s.view != 0; });
  std::stable_sort(seeds.begin(), seeds.end(),
                   [](const PartSeed& a, const PartSeed& b) { return a.wall.radius_mm > b.wall.radius_mm; });
  return seeds;
}

std::optional<PartStart> start_from(const std::vector<SingleView>& views, const PartSeed& seed) {
  const SingleView& from = views[seed.view];
  RoundWall middle = seed.wall;
  if (!seed.height_known) middle.top_mm = 4;
  const std::vector<ViewOfWall> all =
      rays_round(views, in_first_frame(from.turn, middle), seed.height_known ? 1.5 : 5);
  std::optional<PartStart> best;
  const auto consider = [&](const RoundWall& wall, bool disc, double scale_px) {
    PartStart start = scored(all, wall, disc, scale_px);
    if (!best || start.total() > best->total()) best = std::move(start);
  };
  const CameraPlace& camera = from.camera;
  for (double top = 0; top < kHighest_mm; top += kHeightStep_mm) {
    // The circle seen on the board, brought up; of a wall its upper rim.
    const double was = seed.height_known ? seed.wall.top_mm : 0;
    if (seed.height_known && std::abs(top - was) > 3) continue;
    const double scale = camera.scale_at(top) / camera.scale_at(was);
    RoundWall wall = seed.wall;
    wall.center = camera.foot + (seed.wall.center - camera.foot) / scale;
    wall.radius_mm = seed.wall.radius_mm / scale;
    wall.foot_mm = 0, wall.top_mm = top;
    const RoundWall first = in_first_frame(from.turn, wall);
    for (const bool disc : {false, true}) consider(first, disc, kCoarse_px);
    if (seed.height_known) {  // its middle may be the better known
      RoundWall still = seed.wall;
      still.top_mm = top;
      consider(in_first_frame(from.turn, still), false, kCoarse_px);
    }
  }
  if (!best || best->total() <= 0) return {};
  // Refined by the edges of all views, those that do not share it left aside.
  std::vector<ViewOfWall> used = all;
  for (std::size_t v = 0; v < used.size(); ++v)
    used[v].used = best->scores[v] > 0.5 * kViewBears_score || v == seed.view;
  std::optional<PartStart> found;
  for (const bool disc : {false, true}) {
    JointShape shape;
    shape.disc = disc;
    const JointWall fit = fit_joint_wall(used, best->wall, shape);
    if (!fit.found) continue;
    PartStart start = scored(all, fit.wall, disc, kFine_px);
    if (!found || start.total() > found->total() + 0.02 * static_cast<double>(views.size()))
      found = std::move(start);
  }
  if (!found || found->views < 2) return {};
  return found;
}

}  // namespace rondure
