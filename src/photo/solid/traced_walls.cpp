#include "photo/solid/traced_walls.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "photo/edge/algebraic_circle.hpp"
#include "photo/tone/tone_spread.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Standard uncertainty of the outline's second harmonic, besides the fit's own; a little less than that of the mean
// radius below, by judgement. Seeds 14, 16, 33 and 34 of tests/bench/solid_scenes check who is called oval.
constexpr double kSecondHarmonic_px = 0.03;
constexpr double kEdgeOffset_px = 0.05, kOffsetInBlurs = 0.05;  // standard uncertainty, per edge

}  // namespace

RoundEdge TracedWalls::edge_of(const WallFit& fit, const RayEdges& rays) const {
  RoundEdge edge;
  RoundWall round = fit.wall;
  round.oval.setZero();  // the points show it
  const SeenOutline outline(camera, round);
  edge.px_per_mm = rays.px_per_mm * camera.scale_at(fit.wall.top_mm);
  // By direction of the outline's normal: a limb has one direction, its points one place.
  struct Sum {
    double miss_mm = 0, weight = 0;
    Eigen::Vector2d normal = Eigen::Vector2d::Zero(), pixel = Eigen::Vector2d::Zero();
  };
  std::map<int, Sum> by_direction;
  std::vector<double> blurs, inside, outside;
  int dark = 0;
  for (const ChosenEdge& c : fit.chosen) {
    const OutlineDistance d = outline.nearest(c.edge->at);
    const double direction = wrap_direction_rad(std::atan2(d.normal.y(), d.normal.x()));
    Sum& sum = by_direction[static_cast<int>(direction / (2 * kPi) * static_cast<double>(rays.rays.size()))];
    sum.miss_mm += d.distance_mm / d.scale;
    sum.normal += d.normal, sum.pixel += c.edge->pixel, sum.weight += 1;
    blurs.push_back(c.edge->blur_px), inside.push_back(c.edge->inside), outside.push_back(c.edge->outside);
    dark += c.edge->dark_inside ? 1 : -1;
  }
  const double sigma_mm = std::max(0.02, fit.rms_px) / edge.px_per_mm;
  std::vector<Eigen::Vector2d> pixels;
  for (const auto& [bin, sum] : by_direction) {
    const Eigen::Vector2d normal = sum.normal.normalized();
    const double r = fit.wall.radius_mm + sum.miss_mm / sum.weight;
    edge.points.push_back({PartPoint::from(fit.wall.center + r * normal), sigma_mm, 0});
    pixels.push_back(sum.pixel / sum.weight);
    edge.pixels.push_back({pixels.back().x(), pixels.back().y()});
  }
  if (const auto rough = algebraic_circle(pixels)) edge.rough_px = *rough;
  edge.dark_inside = dark > 0;
  edge.hole = fit.shape.hole;
  edge.blur_px = median(blurs);
  edge.light_inside = median(inside), edge.light_outside = median(outside);
  edge.noise_px = fit.rms_px;
  edge.coverage_deg = 360 * fit.cover;
  const auto [lo, hi] = std::minmax(edge.light_inside, edge.light_outside);
  const double tone_px = tone_known ? 0 : tone_spread_px(tone, lo, hi, edge.blur_px);
  edge.u_edge_offset_mm = std::hypot(kEdgeOffset_px, kOffsetInBlurs * edge.blur_px, tone_px) / edge.px_per_mm;
  edge.u_second_harmonic_mm = kSecondHarmonic_px / edge.px_per_mm;
  return edge;
}

SeenWall TracedWalls::wall_of(const WallFit& fit) const {
  SeenWall wall;
  wall.center = PartPoint::from(fit.wall.center);
  wall.radius_mm = fit.wall.radius_mm;
  wall.foot_mm = fit.wall.foot_mm, wall.top_mm = fit.wall.top_mm;
  wall.u_top_mm = fit.u_top_mm;
  wall.height_seen = SeenOutline(camera, fit.wall).foot_is_seen();
  wall.u_fit_mm = 2 * fit.u_radius_mm;
  wall.second_harmonic_mm2 = fit.second_harmonic_mm2;
  wall.outline = outline_of(fit.wall);
  return wall;
}

std::vector<PixelPoint> TracedWalls::outline_of(const RoundWall& wall) const {
  return pixels_of(SeenOutline(camera, wall), board);
}

}  // namespace rondure
