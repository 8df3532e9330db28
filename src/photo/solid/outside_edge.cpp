#include "photo/solid/outside_edge.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "photo/solid/bulged_wall.hpp"
#include "photo/solid/cast_shadow.hpp"
#include "photo/solid/joined_shadow.hpp"
#include "photo/solid/outline_edges.hpp"
#include "photo/solid/round_or_oval.hpp"
#include "photo/solid/wall_line.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement, set looking at scenes of tests/bench/solid_scenes (seeds 1 to 5, 8
// and 9); checked on seeds 14, 16, 33 and 34, new when first looked at (tests/data/studies/solid_scenes.txt).
// Of the edges of the fit as found: with fewer placed again the rest may lie on one side, and those as found
// are kept.
constexpr double kPlacedAgain_ratio = 0.7;
constexpr double kOvalFrom_ratio = 0.005;  // of the radius: a second harmonic above may be a shadow joined
// Edges that miss the outline by more than texture's share: parts of it are another line.
constexpr double kScatter_px = 0.15, kOutsideScatterCosts = 4;
constexpr double kOffsetInShifts = 0.3;  // of what placing the edges across the outline moved
constexpr double kShadowCosts = 0.1;     // of what leaving a joined shadow out moved

constexpr double kWallLineCosts =
    0.3;  // of what leaving the near edge of a wall's line out moved; by judgement
constexpr double kToldShift_px = 0.5;  // placed again so far off, the user is told
constexpr double kTold_ratio = 1.25;   // of the camera's blur: u is then 0.28 of it
constexpr double kAsSharp_ratio =
    1.15;  // of outlines that are one line; 0.92 to 1.12 in the scenes of seed 5

double u_of_unlike_blur_px(double blur_px, double camera_blur_px) {
  if (!(camera_blur_px > 0)) return 0;
  const double one_line_px =
      std::clamp(blur_px, camera_blur_px / kAsSharp_ratio, kAsSharp_ratio * camera_blur_px);
  return std::sqrt(std::abs(blur_px * blur_px - one_line_px * one_line_px) / 3);
}

// The fit's edges point into `placed` or `rays`.
WallFit placed_again(const SeenScene& scene, const WallFit& found, const RayEdges& rays,
                     const RayEdges& placed) {
  WallFit fit = refit_wall(placed, scene.camera, found);
  const bool enough =
      static_cast<double>(fit.chosen.size()) >= kPlacedAgain_ratio * static_cast<double>(found.chosen.size());
  fit = weighed_with_round(enough ? placed : rays, scene.camera, enough ? fit : found);
  fit.score = found.score, fit.cover = found.cover;
  return fit;
}

// The same outline by its edges of one sign alone, light or dark within as most are, whatever the others are.
std::optional<WallFit> by_edges_of_one_sign(const SeenScene& scene, const WallFit& fit,
                                            const RayEdges& placed) {
  const auto dark = sign_of_most(fit);
  if (!dark) return {};
  const auto most =
      static_cast<double>(std::count_if(fit.chosen.begin(), fit.chosen.end(),
                                        [&](const ChosenEdge& c) { return c.edge->dark_inside == *dark; }));
  const RayEdges alike = of_sign(placed, *dark);
  WallFit other = weighed_with_round(alike, scene.camera, refit_wall(alike, scene.camera, fit));
  if (static_cast<double>(other.chosen.size()) < kPlacedAgain_ratio * most) return {};
  other.chosen.clear();  // they point into what ends here
  return other;
}

// Covariance of the second harmonic where edges are softer or sharper than the camera draws one line: shade, a low wall or a
// chamfer runs into them, here more and there less; neighbours lie off alike.
Eigen::Matrix2d oval_of_unlike_blur_mm2(const WallFit& fit, const RayEdges& rays) {
  std::map<int, Eigen::Vector2d> neighbours;
  for (const ChosenEdge& c : fit.chosen) {
    const Eigen::Vector2d from_axis = c.edge->at - fit.wall.center;
    const double twice = 2 * std::atan2(from_axis.y(), from_axis.x()),
                 u_mm = u_of_unlike_blur_px(c.edge->blur_px, rays.camera_blur_px) / rays.px_per_mm;
    auto& sum = neighbours.try_emplace(c.ray / static_cast<int>(kNeighbourRays), 0, 0).first->second;
    sum +=
        2 * u_mm / static_cast<double>(fit.chosen.size()) * Eigen::Vector2d(std::cos(twice), std::sin(twice));
  }
  Eigen::Matrix2d covariance = Eigen::Matrix2d::Zero();
  for (const auto& [sector, sum] : neighbours) covariance += sum * sum.transpose();
  return covariance;
}

Warning wall_bulged(const BulgedWall& bulged) {
  return {
      "crown",
      fmt::format(
          "the outline is that of a wall whose middle stands {:.2f} +- {:.2f} mm {} its ends: the size is "
          "that of its middle; a picture from the side (--side) shows the crown",
          std::abs(bulged.bulge_mm), std::max(0.01, bulged.u_bulge_mm),
          bulged.bulge_mm > 0 ? "out beyond" : "in behind")};
}

// An edge that lies elsewhere by the light beside it than by its steepest place.
void tell_shift(RoundEdge& edge, double shift_mm) {
  if (std::abs(shift_mm) * edge.px_per_mm < kToldShift_px) return;
  edge.warnings.push_back(
      {"weak-outline",
       fmt::format(
           "the shade beside the part, its wall or its chamfer runs into the outline: by their light it "
           "lies {:.2f} mm further {} on either side, and a third of that stays in doubt; take a sharper "
           "or closer picture, on paper clearly lighter or darker than the part",
           std::abs(shift_mm), shift_mm < 0 ? "in" : "out")});
}

}  // namespace

Warning weak_outline() {
  return {"weak-outline",
          "the part hardly stands out from its ground or its shadow: its outline may be another line; take "
          "other "
          "paper, clearly darker or lighter than the part, and light from all sides"};
}

Warning edge_unnamed() {
  return {"inner-edge-not-answered",
          "whether this edge is a bore's, a hub's or a groove's the picture does not tell: look, and name it "
          "(--call 'inner edge=bore'); a picture from the side by 25 degrees tells its height"};
}

double u_of_unlike_blur_mm(const RoundEdge& edge, double camera_blur_px) {
  return u_of_unlike_blur_px(edge.blur_px, camera_blur_px) / edge.px_per_mm;
}

bool allow_for_blur(RoundEdge& edge, double camera_blur_px) {
  const double u_mm = u_of_unlike_blur_mm(edge, camera_blur_px);
  edge.u_edge_offset_mm = std::hypot(edge.u_edge_offset_mm, u_mm);
  const double wider = u_mm > 0 ? edge.blur_px / camera_blur_px : 0;
  const bool told = wider > kTold_ratio;
  if (told)
    edge.warnings.push_back(
        {"weak-outline",
         fmt::format("the outline is {:.1f} times as soft as the edges of the board: the shade beside the "
                     "part, its wall or its chamfer runs into it, and the part may end up to {:.2f} mm "
                     "further in or out on either side; take a sharper or closer picture, on paper clearly "
                     "lighter or darker than the part",
                     wider, std::sqrt(3.0) * u_mm)});
  return told;
}

RoundEdge outside_edge(const SeenScene& scene, const TracedWalls& traced, const WallFit& as_found,
                       const RayEdges& all_rays, double doubt_mm, const std::optional<Estimate>& told_mm) {
  // By all edges: placed again, and without what looks like a shadow's, those of a crowned wall's ends are left out.
  const auto bulged = rather_bulged(all_rays, scene.camera, as_found);
  const auto cast = bulged ? std::nullopt : part_and_shadow(all_rays, scene.camera, as_found);
  const auto line = bulged || cast ? std::nullopt : without_wall_line(all_rays, scene.camera, as_found);
  const RayEdges& rays = cast ? cast->rays : line ? line->rays : all_rays;
  const WallFit found = cast   ? cast->part
                        : line ? line->part
                               : without_joined_shadow(rays, scene.camera, as_found);
  const PlacedAcross placed =
      place_across(scene.picture, scene.board, scene.light_table, scene.camera, found, rays);
  WallFit fit = placed_again(scene, found, rays, placed.rays);
  const double placed_mm = fit.wall.radius_mm;
  std::vector<RayEdge> moved;
  if (bulged) fit = as_if_straight(*bulged, scene.camera, as_found, rays.px_per_mm, moved);
  const double radius = fit.wall.radius_mm;
  RoundEdge edge = traced.edge_of(fit, rays);
  edge.u_edge_offset_mm =
      std::hypot(edge.u_edge_offset_mm, kOffsetInShifts * (placed_mm - found.wall.radius_mm),
                 placed.u_px / edge.px_per_mm);
  if (!allow_for_blur(edge, rays.camera_blur_px)) tell_shift(edge, placed_mm - found.wall.radius_mm);
  edge.wall = traced.wall_of(fit);
  if (bulged) edge.wall->outline = outline_of(*bulged, scene.camera, scene.board);
  if (bulged) edge.warnings.push_back(wall_bulged(*bulged));
  double& u = edge.wall->u_fit_mm;
  const double joined_mm = std::max(0.0, fit.wall.oval.norm() - kOvalFrom_ratio * radius);
  const double scatter_mm = fit.rms_px > kScatter_px ? kOutsideScatterCosts * fit.rms_px / edge.px_per_mm : 0;
  u = std::hypot(u, 2 * joined_mm, scatter_mm);
  u = std::hypot(
      u, 2 * (line ? kWallLineCosts : kShadowCosts) * (found.wall.radius_mm - as_found.wall.radius_mm));
  edge.wall->second_harmonic_mm2 += oval_of_unlike_blur_mm2(fit, rays);
  if (const auto other = bulged ? std::nullopt : by_edges_of_one_sign(scene, fit, placed.rays)) {
    u = std::hypot(u, 2 * (other->wall.radius_mm - fit.wall.radius_mm));
    const Eigen::Vector2d oval_mm = other->wall.oval - fit.wall.oval;
    edge.wall->second_harmonic_mm2 += oval_mm * oval_mm.transpose();
  }
  if (told_mm) {
    edge.height_mm = told_mm->value, edge.u_height_mm = told_mm->u;
  } else if (fit.u_top_mm > 0) {
    edge.height_mm = fit.wall.top_mm, edge.u_height_mm = fit.u_top_mm;
    edge.warnings.push_back(
        {"height-from-picture",
         fmt::format("height not told; the picture tells it: the straight wall ends {:.2f} +- {:.2f} "
                     "mm above the board",
                     fit.wall.top_mm, std::max(0.01, fit.u_top_mm))});
  }
  if (!borne_out(fit) || doubt_mm > 0) {
    u = std::hypot(u, kWeak_ratio * 2 * radius, 2 * doubt_mm);
    edge.warnings.push_back(weak_outline());
  }
  return edge;
}

}  // namespace rondure
