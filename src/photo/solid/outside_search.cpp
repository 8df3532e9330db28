#include "photo/solid/outside_search.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

constexpr int kSmallRays = 360, kLargeRays = 720, kCoarseRays = 120;
constexpr double kLarge_px = 300;
constexpr double kFurthest_ratio = 2.8, kWiden = 1.06, kLeastWider = 1.1;
constexpr double kBeyond_ratio = 0.05;
constexpr double kShift_ratio = 0.12;
constexpr int kShifts = 4;
constexpr double kRingScore = 0.45;  // of the rays, an edge near the ring

double px_per_mm(const MeasuringPlane& board, const Eigen::Vector2d& at) {
  const auto j = pixel_per_part(board, PartPoint::from(at));
  return j ? std::sqrt(std::abs(j->determinant())) : 0;
}

}  // namespace

OutsideTrial try_outside(const SeenScene& scene, std::vector<WallStart> from, double told_mm,
                         const WallShape& wall) {
  OutsideTrial trial;
  const Eigen::Vector2d middle = scene.camera.seen_at(from.front().center, told_mm);
  double least = 1e9, most = 0;
  for (const WallStart& s : from) {
    const double apart = (scene.camera.seen_at(s.center, told_mm) - middle).norm(),
                 r = s.radius_mm * scene.camera.scale_at(told_mm);
    least = std::min(least, r - apart), most = std::max(most, r + apart);
  }
  const bool large = most * px_per_mm(scene.board, middle) > kLarge_px;
  trial.rays =
      find_ray_edges(scene.picture, scene.board, scene.light_table, middle,
                     0.55 * std::max(least, 0.4 * most), 1.45 * most, large ? kLargeRays : kSmallRays);
  trial.disc = fit_wall(trial.rays, scene.camera, from, {told_mm, told_mm, 0, true, false, false});
  trial.wall = fit_wall(trial.rays, scene.camera, from, wall);
  trial.from = std::move(from);
  return trial;
}

std::optional<WallStart> further_out(const SeenScene& scene, const WallFit& fit) {
  const double r = fit.wall.radius_mm;
  const Eigen::Vector2d center = fit.wall.center, from_foot = center - scene.camera.foot;
  const Eigen::Vector2d along =
      from_foot.norm() > 0 ? Eigen::Vector2d(from_foot.normalized()) : Eigen::Vector2d(1, 0);
  RayEdges rays = find_ray_edges(scene.picture, scene.board, scene.light_table,
                                 scene.camera.seen_at(center, 0.5 * fit.wall.top_mm), 1.04 * r, kFurthest_ratio * r,
                                 kCoarseRays);
  const SeenOutline outline(scene.camera, fit.wall);
  for (auto& ray : rays.rays)
    std::erase_if(ray, [&](const RayEdge& e) { return outline.distance_mm(e.at) < kBeyond_ratio * r; });
  WallStart best;
  double best_score = kRingScore;
  for (double radius = kLeastWider * r; radius < 0.85 * kFurthest_ratio * r; radius *= kWiden)
    for (int shift = -kShifts; shift <= kShifts; ++shift) {
      const Eigen::Vector2d c = center + shift * kShift_ratio * r * along;
      if ((c - center).norm() + r > 1.1 * radius) continue;
      const double scale = std::max(0.035 * radius, 2 / rays.px_per_mm);
      double score = 0;
      for (const auto& ray : rays.rays) {
        double most = 0;
        for (const RayEdge& e : ray) {
          const double z = ((e.at - c).norm() - radius) / scale;
          if (std::abs(z) < 3) most = std::max(most, e.weight * std::exp(-0.5 * z * z));
        }
        score += most / static_cast<double>(rays.rays.size());
      }
      if (score > best_score) best_score = score, best = {c, radius, 0.18};
    }
  if (best.radius_mm > 0) return best;
  return {};
}

}  // namespace rondure
