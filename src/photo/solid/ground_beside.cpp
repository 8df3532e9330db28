#include "photo/solid/ground_beside.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Limits of this file were set by judgement, those of the face's end looking at a bore of 2 mm taken for a part of
// 8 mm; checked on seeds 14, 16, 33 and 34 of tests/bench/solid_scenes, and by test_ground_beside.cpp.
// Sectors of 7.5 degrees, each with 24 samples: three rays of eight; their median is no single grain's.
constexpr int kSectors = 48, kSamples = 8, kRaysInSector = 3;
// The patch beside the edge: from so many blurs of it (the rise is over there) outwards by so much of the radius, at
// least by so many px: enough for a scatter.
constexpr double kFromBlurs = 3, kLeastNear_px = 6, kNear_ratio = 0.35;
// Farther off, of the radius: beyond the part, where this is a bore of a third of its outside or more; a smaller
// one's face may reach so far.
constexpr double kFarFrom_ratio = 3, kFarTo_ratio = 4.5;
constexpr double kSameLight = 0.12;                // |ln|
constexpr double kSameTexture = 3, kFloor = 5e-4;  // ratio of the scatter between pixels two apart; light
// Of the sectors told: a board, a shadow and another part take no more than the rest; by judgement.
constexpr double kOtherSectors_share = 0.7;
constexpr double kOneLight_ratio = 0.04;  // of nine sectors in ten

constexpr double kFaceTo_ratio = 6;  // bores are down to a fifth of the outside
// From the edge outwards, each an eighth of the radius: a face's end is seen to that.
constexpr int kFaceSteps = 40;
constexpr double kBrighter = 0.5;  // ln: the face's end
// Between the tenth and the ninetieth sector in a hundred, of the median; and 0.01 of full scale, so
// much a face in uneven light may differ.
constexpr double kNearlyOneLight_ratio = 0.15;
// Of the sectors told: dust or a highlight may hide the face's end in one of ten.
constexpr double kEnds_share = 0.9;

struct Patch {
  double light = 0, texture = 0;
};

}  // namespace

Beside ground_beside(const LightAt& light, const MeasuringPlane& board, const CameraPlace& camera,
                     const RoundWall& disc, double px_per_mm, double blur_px) {
  const Eigen::Vector2d center = camera.seen_at(disc.center, disc.top_mm);
  const double r = camera.scale_at(disc.top_mm) * disc.radius_mm, blur_mm = blur_px / px_per_mm;
  const auto patch = [&](int sector, double from, double to) -> std::optional<Patch> {
    std::vector<double> lights, scatter;
    for (int i = 0; i < kSamples * kRaysInSector; ++i) {
      const double a = 2 * kPi * (sector + (i % kRaysInSector) / double{kRaysInSector}) / kSectors;
      const double d = from + (to - from) * (i / kRaysInSector + 0.5) / kSamples;
      const auto p =
          pixel_from_part(board, PartPoint::from(center + d * Eigen::Vector2d(std::cos(a), std::sin(a))));
      if (!p || !light.holds(p->x_px - 2, p->y_px - 2) || !light.holds(p->x_px + 2, p->y_px + 2)) return {};
      const double here = light.at(p->x_px, p->y_px);
      lights.push_back(here);
      scatter.push_back(
          std::abs(here - 0.25 * (light.at(p->x_px - 2, p->y_px) + light.at(p->x_px + 2, p->y_px) +
                                  light.at(p->x_px, p->y_px - 2) + light.at(p->x_px, p->y_px + 2))));
    }
    return Patch{median(lights), median(scatter)};
  };
  // Outwards from the edge the light stays the face's, darker at most, and then is clearly brighter.
  const auto ends = [&](int sector, double from, double face) {
    const double a = 2 * kPi * (sector + 0.5) / kSectors;
    const Eigen::Vector2d ray(std::cos(a), std::sin(a));
    for (int i = 0; i < kFaceSteps; ++i) {
      const double d = from + (kFaceTo_ratio * r - from) * i / kFaceSteps;
      const auto p = pixel_from_part(board, PartPoint::from(center + d * ray));
      if (!p || !light.holds(p->x_px, p->y_px)) return false;
      const double ratio = std::log((std::max(light.at(p->x_px, p->y_px), 0.0) + 0.01) / (face + 0.01));
      if (ratio > kBrighter) return i > 0;
    }
    return false;
  };
  int other = 0, told = 0, ended = 0;
  std::vector<double> lights;
  const double near = r + kFromBlurs * blur_mm;
  for (int sector = 0; sector < kSectors; ++sector) {
    const auto a = patch(sector, near, near + std::max(kLeastNear_px / px_per_mm, kNear_ratio * r));
    const auto b = patch(sector, kFarFrom_ratio * r, kFarTo_ratio * r);
    if (!a || !b) continue;
    ++told;
    lights.push_back(a->light);
    ended += ends(sector, near, a->light);
    const double ratio = (a->texture + kFloor) / (b->texture + kFloor);
    other += std::abs(std::log((std::max(a->light, 0.0) + 0.01) / (std::max(b->light, 0.0) + 0.01))) >
                 kSameLight ||
             ratio > kSameTexture || ratio < 1 / kSameTexture;
  }
  Beside beside;
  if (lights.empty()) return beside;
  beside.as_farther_off = other < kOtherSectors_share * told;
  beside.ends_all_round = ended >= kEnds_share * told;
  std::sort(lights.begin(), lights.end());
  const auto at = [&](double share) {
    return lights[static_cast<std::size_t>(share * static_cast<double>(lights.size() - 1))];
  };
  beside.of_nearly_one_light = at(0.9) - at(0.1) < kNearlyOneLight_ratio * at(0.5) + 0.01;
  beside.of_one_light = at(0.9) - at(0.1) < kOneLight_ratio * at(0.5);
  return beside;
}

}  // namespace rondure
