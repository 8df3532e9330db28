#include "photo/solid/cast_shadow.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement, set looking at scenes 9-012 and 9-006 of tests/bench/solid_scenes
// (0.40 and 0.13 mm off before); checked on seeds 14, 16, 33 and 34, new when first looked at
// (tests/data/studies/solid_scenes.txt), and by test_cast_shadow.cpp.
// 22.5 degrees each: a sector hides a quarter to half of the outline (below), as a shadow does.
constexpr int kCastSectors = 16;
constexpr std::array kCastLeftOut = {4, 6, 8};  // sectors at a time
constexpr double kTense_chi2 = 3;               // height and oval, against their priors
// A ray's cost: half the square of what its nearest edge misses by; neighbours share their errors.
constexpr double kSigma_px = 0.2, kMostCost = 3, kLeastEdge = 0.25;
constexpr double kShadowMiss = 0.5;  // an edge of the shadow is placed twice as badly
constexpr double kUnseenCost = 0.3;  // the part's edge under its shadow
constexpr double kBetterByCost = 4;  // the shadow's two unknowns, and chance
constexpr double kInside_px = 3, kLongest_ratio = 0.5, kLeastLength_px = 2;  // of the shadow, of the radius
// Of the shadow's displacement: 10 degrees a step, the length in equal ratios; then finely about the best.
constexpr int kDirections = 36, kLengths = 24, kFineSteps = 4;
// Standard deviation of the weight of an edge's miss, in the coarse search and the fine one; a step of the fine one.
constexpr double kCoarseScale_px = 1.5, kFineScale_px = 0.7, kFineStep_px = 0.5;
// Beyond the part's outline a shadow's edge counts from so far on; it shows over at least a tenth of the directions,
// and its edge is seen in so many of those. By judgement.
constexpr double kOut_px = 1.5, kLeastShown_share = 0.1, kLeastShadowCover = 0.6;
// Beyond the outline by more, an edge is the shadow's own; a shadow's edge beyond it by more than kDrawn_px, and
// nearer than three blurs, where the two are not resolved, draws the part's with it. By judgement.
constexpr double kOwn_px = 1, kDrawn_px = 0.15, kJoined_blurs = 3;

double tension(const WallFit& fit) {
  const WallShape& s = fit.shape;
  const double oval = fit.wall.oval.norm() / (kOval_ratio * fit.wall.radius_mm),
               top = s.u_top_mm > 0 ? (fit.wall.top_mm - s.top_mm) / s.u_top_mm : 0;
  return oval * oval + top * top;
}

// From the hull of the circles c and c + v.
double shadow_distance_mm(const RoundWall& wall, const Eigen::Vector2d& by, const Eigen::Vector2d& at) {
  const Eigen::Vector2d from = at - wall.center;
  const double along = std::clamp(from.dot(by) / by.squaredNorm(), 0.0, 1.0);
  return (from - along * by).norm() - wall.radius_mm;
}

double cost_of(double miss_px) { return std::min(kMostCost, 0.5 * std::pow(miss_px / kSigma_px, 2)); }

struct Shadow {
  Eigen::Vector2d by_mm = Eigen::Vector2d::Zero();
  double cover = 0;  // of the directions in which it shows, those with its edge
};

// One wall and the edges about it.
class PartTried {
public:
  PartTried(const RayEdges& rays, const CameraPlace& camera, const RoundWall& wall)
      : rays_(rays), wall_(wall), outline_(camera, wall), near_(rays.rays.size()) {
    const double most_px = kLongest_ratio * wall.radius_mm * rays.px_per_mm;
    for (std::size_t k = 0; k < near_.size(); ++k)
      for (const RayEdge& e : rays.rays[k]) {
        const double from_px = rays.px_per_mm * outline_.distance_mm(e.at);
        if (e.weight >= kLeastEdge && from_px > -kInside_px && from_px < most_px)
          near_[k].push_back({&e, from_px});
      }
  }

  // Of the edges next to the outline, or to the shadow's where that lies beyond it.
  double cost(const Eigen::Vector2d* by) const {
    double sum = 0;
    for (const auto& ray : near_) {
      double part = kMostCost, shadow = kMostCost;
      for (const Near& n : ray) {
        part = std::min(part, cost_of(n.from_px));
        if (by && n.from_px > 0 && n.edge->dark_inside)
          shadow = std::min(shadow, cost_of(kShadowMiss * shadow_px(*by, *n.edge)));
      }
      sum += shadow < part ? std::min(kMostCost, shadow + std::min(part, kUnseenCost)) : part;
    }
    return sum / kNeighbourRays;
  }

  // The displaced circle that explains most of the edges outside.
  std::optional<Shadow> shadow() const {
    const double longest_mm = kLongest_ratio * wall_.radius_mm, least_mm = kLeastLength_px / rays_.px_per_mm;
    Best best;
    for (int i = 0; i < kDirections; ++i)
      for (int j = 0; j < kLengths; ++j) {
        const double a = 2 * kPi * i / kDirections,
                     length = least_mm * std::pow(longest_mm / least_mm, j / (kLengths - 1.0));
        weigh(length * Eigen::Vector2d(std::cos(a), std::sin(a)), kCoarseScale_px, best);
      }
    if (!(best.merit > 0)) return {};
    Best fine;
    for (int i = -kFineSteps; i <= kFineSteps; ++i)
      for (int j = -kFineSteps; j <= kFineSteps; ++j)
        weigh(best.shadow.by_mm + kFineStep_px / rays_.px_per_mm * Eigen::Vector2d(i, j), kFineScale_px,
              fine);
    if (!(fine.merit > 0)) return {};
    return fine.shadow;
  }

  // Without the edges that a shadow draws outwards, unresolved from the part's, and its own.
  RayEdges without(const Eigen::Vector2d& by) const {
    RayEdges rest = rays_;
    for (auto& ray : rest.rays)
      std::erase_if(ray, [&](const RayEdge& e) {
        const OutlineDistance near = outline_.nearest(e.at);
        const Eigen::Vector2d& n = near.normal;
        const double shadow_mm = n.dot(wall_.center) + std::max(0.0, n.dot(by)) + wall_.radius_mm,
                     beyond_px =
                         rays_.px_per_mm * (shadow_mm - n.dot(outline_.point(std::atan2(n.y(), n.x()))));
        return rays_.px_per_mm * near.distance_mm > kOwn_px ||
               (beyond_px > kDrawn_px && beyond_px < kJoined_blurs * rays_.camera_blur_px);
      });
    return rest;
  }

private:
  struct Near {
    const RayEdge* edge = nullptr;
    double from_px = 0;  // outwards of the outline
  };
  struct Best {
    double merit = 0;
    Shadow shadow;
  };

  double shadow_px(const Eigen::Vector2d& by, const RayEdge& e) const {
    return rays_.px_per_mm * shadow_distance_mm(wall_, by, e.at);
  }

  void weigh(const Eigen::Vector2d& by, double scale_px, Best& best) const {
    const double shown = shown_share(by) * static_cast<double>(near_.size());
    if (shown < kLeastShown_share * static_cast<double>(near_.size())) return;
    double on = 0;
    for (const auto& ray : near_) {
      double here = 0;
      for (const Near& n : ray) {
        if (n.from_px < kOut_px || !n.edge->dark_inside) continue;
        const double z = shadow_px(by, *n.edge) / scale_px;
        here = std::max(here, n.edge->weight * std::exp(-0.5 * z * z));
      }
      on += here;
    }
    const double merit = on - 0.5 * shown;
    if (merit > best.merit) best = {merit, {by, on / shown}};
  }

  double shown_share(const Eigen::Vector2d& by) const {
    int shown = 0;
    for (int k = 0; k < kDirections; ++k) {
      const double a = 2 * kPi * k / kDirections;
      const Eigen::Vector2d n(std::cos(a), std::sin(a));
      shown += n.dot(by) > 0 &&
               rays_.px_per_mm * outline_.distance_mm(wall_.center + by + wall_.radius_mm * n) > kOut_px;
    }
    return shown / double{kDirections};
  }

  const RayEdges& rays_;
  const RoundWall wall_;
  const SeenOutline outline_;
  std::vector<std::vector<Near>> near_;
};

RayEdges without_sectors(RayEdges rays, int first, int wide) {
  const std::size_t count = rays.rays.size();
  for (std::size_t k = 0; k < count; ++k) {
    const int sector = static_cast<int>(k * kCastSectors / count);
    if ((sector - first + kCastSectors) % kCastSectors < wide) rays.rays[k].clear();
  }
  return rays;
}

}  // namespace

std::optional<PartAndShadow> part_and_shadow(const RayEdges& rays, const CameraPlace& camera,
                                             const WallFit& found) {
  if (!found.shape.oval || tension(found) < kTense_chi2) return {};
  double least = PartTried(rays, camera, found.wall).cost(nullptr) + 0.5 * tension(found) - kBetterByCost;
  WallFit round = found;
  round.shape.oval = false, round.wall.oval.setZero();
  std::optional<RoundWall> part;
  Eigen::Vector2d by = Eigen::Vector2d::Zero();
  for (const int wide : kCastLeftOut)
    for (int first = 0; first < kCastSectors; ++first) {
      const WallFit fit = refit_wall(without_sectors(rays, first, wide), camera, round);
      if (fit.chosen.empty()) continue;
      const PartTried tried(rays, camera, fit.wall);
      const auto shadow = tried.shadow();
      if (!shadow || shadow->cover < kLeastShadowCover) continue;
      const double cost = tried.cost(&shadow->by_mm) + 0.5 * tension(fit);
      if (cost < least) least = cost, part = fit.wall, by = shadow->by_mm;
    }
  if (!part) return {};
  WallFit from = found;
  from.wall = *part;
  PartAndShadow both{PartTried(rays, camera, *part).without(by), {}, by};
  both.part = refit_wall(both.rays, camera, from);
  if (both.part.chosen.empty()) return {};
  both.part.score = found.score;
  return both;
}

}  // namespace rondure
