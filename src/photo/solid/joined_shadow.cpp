#include "photo/solid/joined_shadow.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace rondure {
namespace {

// Root mean square of the misses, and of their means by sector: an outline of one line misses by less.
constexpr double kScatters_px = 0.15, kBends_px = 0.12;
// Sectors of 22.5 degrees, and every second one as the first of those left out: for time. Where no reason stands
// here, a limit is judgement, set looking at scenes 2-028, 3-013 and 1-008 of tests/bench/solid_scenes; checked on
// seeds 14, 16, 33 and 34.
constexpr int kShadowSectors = 16, kFirstStep = 2;
constexpr std::array kLeftOut = {4, 6, 8};  // sectors at a time
// Standard deviation of the weight of an edge right on the line, and how far off the line edges count; by judgement.
constexpr double kTight_px = 0.35, kTightReach_px = 1.2;
constexpr double kOutlineBetterBy = 0.04, kLessScatter = 0.7;  // of the rays: on the outline; of the misses
// Farther off the outline an edge belongs to another; of those given up so many lie outside it, as a shadow's do, and
// most of the outline is kept.
constexpr double kOther_px = 1, kLeastOutside_share = 0.8, kMostOther_share = 0.6;

int sector_of(std::size_t ray, std::size_t rays) { return static_cast<int>(ray * kShadowSectors / rays); }

// The misses run in and out round the outline.
bool bends(const RayEdges& rays, const WallFit& found) {
  std::array<double, kShadowSectors> sum{}, count{};
  for (const ChosenEdge& c : found.chosen) {
    const int sector = sector_of(static_cast<std::size_t>(c.ray), rays.rays.size());
    sum[sector] += c.miss_px, count[sector] += 1;
  }
  double square = 0;
  for (int i = 0; i < kShadowSectors; ++i)
    if (count[i] > 0) square += sum[i] * sum[i] / (count[i] * count[i]);
  return std::sqrt(square / kShadowSectors) > kBends_px;
}

// Share of the rays with an edge right on the outline.
double on_the_line(const RayEdges& rays, const CameraPlace& camera, const RoundWall& wall) {
  double sum = 0;
  for (const ChosenEdge& c : edges_on_outline(rays, camera, wall, kTightReach_px, false))
    sum += c.edge->weight * std::exp(-0.5 * c.miss_px * c.miss_px / (kTight_px * kTight_px));
  return sum / static_cast<double>(rays.rays.size());
}

// What is given up for the other outline lies outside it, and is not most of the outline.
bool gives_up_a_shadow(const RayEdges& rays, const CameraPlace& camera, const WallFit& found,
                       const WallFit& other) {
  const SeenOutline outline(camera, other.wall);
  int outside = 0, inside = 0;
  for (const ChosenEdge& c : found.chosen) {
    const double miss_px = rays.px_per_mm * outline.distance_mm(c.edge->at);
    outside += miss_px > kOther_px, inside += miss_px < -kOther_px;
  }
  const int given_up = outside + inside;
  return outside >= kLeastOutside_share * given_up &&
         given_up < kMostOther_share * static_cast<double>(found.chosen.size());
}

}  // namespace

WallFit without_joined_shadow(const RayEdges& rays, const CameraPlace& camera, const WallFit& found) {
  if (found.rms_px < kScatters_px || !bends(rays, found)) return found;
  const std::size_t count = rays.rays.size();
  WallFit best = found;
  double most = on_the_line(rays, camera, found.wall) + kOutlineBetterBy;
  for (const int wide : kLeftOut)
    for (int first = 0; first < kShadowSectors; first += kFirstStep) {
      RayEdges rest = rays;
      for (std::size_t k = 0; k < count; ++k)
        if ((sector_of(k, count) - first + kShadowSectors) % kShadowSectors < wide) rest.rays[k].clear();
      const WallFit part = refit_wall(rest, camera, found);
      if (part.chosen.empty()) continue;
      WallFit fit = refit_wall(rays, camera, part);
      if (fit.chosen.empty() || !gives_up_a_shadow(rays, camera, found, fit)) continue;
      const double on = on_the_line(rays, camera, fit.wall);
      if (on > most && fit.rms_px < kLessScatter * found.rms_px) most = on, best = std::move(fit);
    }
  best.score = found.score;
  return best;
}

}  // namespace rondure
