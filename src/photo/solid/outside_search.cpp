#include "photo/solid/outside_search.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <utility>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

// Limits of this search were set looking at seeds 1 and 2 of tests/bench/solid_scenes, those about a bore or hub
// clearer than its outside with seeds 3, 4, 5, 8 and 9 worked on; where no reason stands, by judgement. Checked on
// seeds 14, 16, 33 and 34, new when first looked at (tests/data/studies/solid_scenes.txt).
// One ray a degree, two for what is larger than kLarge_px (of radius, there 2.6 px apart); one in three where only a
// ring is sought.
constexpr int kSmallRays = 360, kLargeRays = 720, kCoarseRays = 120;
// Of the farthest edge from the middle; more rays cost time alone on what is smaller.
constexpr double kLarge_px = 300;
// Radii sought beyond an outline, as a ratio to its own: up to the furthest, each 6 % wider than the last, from 10 %
// wider on: nearer lies the part's own chamfer.
constexpr double kFurthest_ratio = 2.8, kWiden = 1.06, kLeastWider = 1.1;
constexpr double kFurthestOfRim_ratio = 6;  // bores are down to a fifth of the outside
// So many larger outlines about a rim are tried, the likeliest first; each costs a fit.
constexpr std::size_t kMostOfRim = 4;
// Of the radius: edges nearer outside are the outline's own, and are not sought again.
constexpr double kBeyond_ratio = 0.05;
// Where a larger ring's middle is sought, along the line from the camera's foot: so much of the radius a step.
constexpr double kShift_ratio = 0.12;
// Steps on either side: 48 % of the radius, by judgement of how tall a part may be.
constexpr int kShifts = 4;
constexpr double kRingScore = 0.45;  // of the rays, an edge near the ring
// Rings down to so much of the largest are tried as one size; nearer each other than kSameStart_ratio of the radius
// they are one start; about it the fit searches kStartSpan_ratio of the radius either way. By judgement.
constexpr double kOneSize_ratio = 0.6, kSameStart_ratio = 0.08, kStartSpan_ratio = 0.18;
// Of one size, the longest seen: each costs a search in three unknowns.
constexpr std::size_t kMostStarts = 3;
// An outline is larger when it is by this ratio: less may be its own chamfer's line; by judgement.
constexpr double kLarger_ratio = 1.04;
// A larger outline round about the same axis that is so far borne out, or a ring found there, is not ruled out.
constexpr double kDoubtfulScore = 0.15, kDoubtfulCover = 0.6, kLargerRing_ratio = 1.25;
// A ring over three quarters of the turn is none of a shadow's, which lies on one side; so much larger is
// another line.
constexpr double kAllRound_deg = 270, kLargerAllRound_ratio = 1.06;
// Of the rays: a wall fits so well, and so much better than a disc, that it is one; by judgement.
constexpr double kShownWallScore = 0.85, kWallOverDisc = 0.15;
// Share of the rays, of rays with an edge on the line, root mean square of the misses; by judgement.
constexpr double kCleanLineScore = 0.4, kCleanLineCover = 0.78, kCleanLineRms_px = 0.35;
// Off the axis of the larger by less than so much of its radius, a ring is about it; the axis as seen is drawn out to
// 1.5 of the part's height, for a ring on a hub. By judgement.
constexpr double kConcentric_ratio = 0.25, kAxisBeyond_ratio = 1.5;

double px_per_mm(const MeasuringPlane& board, const Eigen::Vector2d& at) {
  const auto j = pixel_per_part(board, PartPoint::from(at));
  return j ? std::sqrt(std::abs(j->determinant())) : 0;
}

// Rings of about one size are tried together; the largest first, of each size those longest seen.
std::vector<std::vector<WallStart>> by_size(std::vector<FoundRing> left) {
  std::vector<std::vector<WallStart>> all;
  while (!left.empty()) {
    const double largest = left.front().radius_mm;
    std::vector<FoundRing> alike;
    std::erase_if(left, [&](const FoundRing& r) {
      if (r.radius_mm < kOneSize_ratio * largest) return false;
      alike.push_back(r);
      return true;
    });
    std::stable_sort(alike.begin(), alike.end(), [](const FoundRing& a, const FoundRing& b) {
      return a.coverage_deg * a.radius_mm > b.coverage_deg * b.radius_mm;
    });
    std::vector<WallStart> starts;
    for (const FoundRing& r : alike) {
      const bool near = std::any_of(starts.begin(), starts.end(), [&](const WallStart& s) {
        return (s.center - r.center).norm() + std::abs(s.radius_mm - r.radius_mm) <
               kSameStart_ratio * r.radius_mm;
      });
      if (!near && starts.size() < kMostStarts) starts.push_back({r.center, r.radius_mm, kStartSpan_ratio});
    }
    all.push_back(std::move(starts));
  }
  return all;
}

// `a` is the larger, about the same axis as it is seen: a ring taken to lie flat may stand as high as `a` does, or on a
// hub above it.
bool is_larger(const CameraPlace& camera, const RoundWall& a, const RoundWall& b, double ratio) {
  const Eigen::Vector2d foot = camera.seen_at(a.center, a.foot_mm),
                        axis = kAxisBeyond_ratio * (camera.seen_at(a.center, a.top_mm) - foot),
                        off = camera.seen_at(b.center, b.top_mm) - foot;
  const double along = axis.norm() > 0 ? std::clamp(off.dot(axis) / axis.squaredNorm(), 0.0, 1.0) : 0;
  return a.radius_mm > ratio * b.radius_mm && (off - along * axis).norm() < kConcentric_ratio * a.radius_mm;
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

namespace {

// Rings about `fit` as seen, up to `furthest` times its radius: of each radius that is better borne out than those next
// to it, the best. The likeliest first.
std::vector<WallStart> rings_beyond(const SeenScene& scene, const WallFit& fit, double furthest) {
  const double r = fit.wall.radius_mm;
  const Eigen::Vector2d center = fit.wall.center, from_foot = center - scene.camera.foot;
  const Eigen::Vector2d along =
      from_foot.norm() > 0 ? Eigen::Vector2d(from_foot.normalized()) : Eigen::Vector2d(1, 0);
  RayEdges rays = find_ray_edges(scene.picture, scene.board, scene.light_table,
                                 scene.camera.seen_at(center, 0.5 * fit.wall.top_mm), 1.04 * r, furthest * r,
                                 kCoarseRays);
  const SeenOutline outline(scene.camera, fit.wall);
  for (auto& ray : rays.rays)
    std::erase_if(ray, [&](const RayEdge& e) { return outline.distance_mm(e.at) < kBeyond_ratio * r; });
  std::vector<std::pair<double, WallStart>> of_radius;
  for (double radius = kLeastWider * r; radius < 0.85 * furthest * r; radius *= kWiden) {
    auto& [best_score, best] = of_radius.emplace_back();
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
      if (score > best_score) best_score = score, best = {c, radius, kStartSpan_ratio};
    }
  }
  std::vector<std::pair<double, WallStart>> peaks;
  for (std::size_t i = 0; i < of_radius.size(); ++i) {
    const double score = of_radius[i].first;
    if (score > kRingScore && (i == 0 || score > of_radius[i - 1].first) &&
        (i + 1 == of_radius.size() || score >= of_radius[i + 1].first))
      peaks.push_back(of_radius[i]);
  }
  std::stable_sort(peaks.begin(), peaks.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<WallStart> starts;
  for (const auto& [score, start] : peaks) starts.push_back(start);
  return starts;
}

}  // namespace

std::optional<WallStart> further_out(const SeenScene& scene, const WallFit& fit) {
  const auto starts = rings_beyond(scene, fit, kFurthest_ratio);
  if (starts.empty()) return {};
  return starts.front();
}

Beside ground_beside(const SeenScene& scene, const OutsideTrial& trial) {
  return ground_beside({scene.picture, scene.light_table}, scene.board, scene.camera, trial.better().wall,
                       trial.rays.px_per_mm, trial.rays.camera_blur_px);
}

namespace {

// The middle of an outline as seen, and its mean distance from there: a wall's is longer than its top circle is wide.
Circle mean_circle(const CameraPlace& camera, const RoundWall& wall) {
  // One in 10 degrees: the mean of a smooth outline needs no more.
  constexpr int kPoints = 36;
  const SeenOutline outline(camera, wall);
  Eigen::Vector2d middle = Eigen::Vector2d::Zero();
  for (int k = 0; k < kPoints; ++k) middle += outline.point(2 * kPi * k / kPoints) / kPoints;
  double mean_mm = 0;
  for (int k = 0; k < kPoints; ++k)
    mean_mm += (outline.point(2 * kPi * k / kPoints) - middle).norm() / kPoints;
  return {PartPoint::from(middle), mean_mm};
}

// How far, of the radius, a larger outline lies beyond the chosen one, as seen: the other of disc and wall where the edges bear
// it out too, or a ring found nearly all the way round, which no shadow is.
double beyond_chosen_mm(const SeenScene& scene, const OutsideTrial& trial,
                        const std::vector<FoundRing>& rings, double told_mm) {
  const CameraPlace& camera = scene.camera;
  const Circle chosen = mean_circle(camera, trial.better().wall);
  double most_mm = 0;
  const auto look_at = [&](const Circle& other, double ratio) {
    if (other.radius_mm > ratio * chosen.radius_mm &&
        (other.center.vec() - chosen.center.vec()).norm() < kConcentric_ratio * other.radius_mm)
      most_mm = std::max(most_mm, other.radius_mm - chosen.radius_mm);
  };
  const WallFit& other = &trial.better() == &trial.wall ? trial.disc : trial.wall;
  if (borne_out(other)) look_at(mean_circle(camera, other.wall), kLarger_ratio);
  for (const FoundRing& ring : rings)
    if (ring.coverage_deg > kAllRound_deg)
      look_at(
          {PartPoint::from(camera.seen_at(ring.center, told_mm)), camera.scale_at(told_mm) * ring.radius_mm},
          kLargerAllRound_ratio);
  return most_mm;
}

// It shows its own wall, as no rim of a hole does.
bool shows_wall(const SeenScene& scene, const OutsideTrial& trial) {
  return trial.wall.score > kShownWallScore && trial.wall.score > trial.disc.score + kWallOverDisc &&
         SeenOutline(scene.camera, trial.wall.wall).foot_is_seen();
}

// Nearly all the way round, and narrow: texture and shade beside it only make it score less.
bool is_clean_line(const WallFit& fit) {
  return fit.score > kCleanLineScore && fit.cover > kCleanLineCover && fit.rms_px < kCleanLineRms_px;
}

double larger_ring_mm(const CameraPlace& camera, const std::vector<FoundRing>& rings,
                      const RoundWall& chosen) {
  double most_mm = 0;
  for (const FoundRing& ring : rings)
    if (is_larger(camera, {ring.center, ring.radius_mm}, chosen, kLargerRing_ratio))
      most_mm = std::max(most_mm, ring.radius_mm - chosen.radius_mm);
  return most_mm;
}

}  // namespace

std::optional<OutsideTrial> outside_around(const SeenScene& scene, const OutsideTrial& rim,
                                           const std::vector<FoundRing>& rings, double told_mm,
                                           const WallShape& wall) {
  std::optional<OutsideTrial> best;
  bool best_is_sure = false;
  auto starts = rings_beyond(scene, rim.better(), kFurthestOfRim_ratio);
  if (starts.size() > kMostOfRim) starts.resize(kMostOfRim);
  for (WallStart start : starts) {
    // Seen on the board, about the middle of the wall.
    const double scale = scene.camera.scale_at(0.5 * told_mm);
    start.center = scene.camera.foot + (start.center - scene.camera.foot) / scale;
    start.radius_mm /= scale;
    OutsideTrial trial = try_outside(scene, {start}, told_mm, wall);
    const WallFit& found = trial.better();
    if (!is_larger(scene.camera, found.wall, rim.better().wall, kLarger_ratio)) continue;
    const bool sure =
        borne_out(found) && (shows_wall(scene, trial) || ground_beside(scene, trial).as_farther_off);
    if (!sure && !(rim.doubt_mm > 0 && is_clean_line(found))) continue;
    if (best && (best_is_sure > sure || (best_is_sure == sure && best->score() >= trial.score()))) continue;
    best = std::move(trial), best_is_sure = sure;
  }
  if (!best) return {};
  best->around = true;
  best->doubt_mm = std::max(beyond_chosen_mm(scene, *best, rings, told_mm),
                            larger_ring_mm(scene.camera, rings, best->better().wall));
  return best;
}

OutsideTrial find_outside(const SeenScene& scene, const std::vector<FoundRing>& rings, double told_mm,
                          const WallShape& wall) {
  const auto larger = [&](const RoundWall& a, const RoundWall& b, double ratio) {
    return is_larger(scene.camera, a, b, ratio);
  };
  std::optional<OutsideTrial> best;
  std::vector<WallFit> passed;  // over
  std::vector<WallStart> starts;
  for (auto& from : by_size(rings)) {
    starts.insert(starts.end(), from.begin(), from.end());
    OutsideTrial trial = try_outside(scene, std::move(from), told_mm, wall);
    const bool found = borne_out(trial.better());
    passed.push_back(trial.better());
    if (!best || trial.score() > best->score()) best = std::move(trial);
    if (found) break;
  }
  for (int round = 0; round < 2; ++round) {
    const auto start = further_out(scene, best->better());
    if (!start) break;
    OutsideTrial trial = try_outside(scene, {*start}, told_mm, wall);
    passed.push_back(trial.better());
    if (!borne_out(trial.better()) || !larger(trial.better().wall, best->better().wall, kLarger_ratio)) break;
    best = std::move(trial);
  }
  const RoundWall& chosen = best->better().wall;
  best->doubt_mm = beyond_chosen_mm(scene, *best, rings, told_mm);
  for (const WallFit& fit : passed)
    if (fit.score > kDoubtfulScore && fit.cover > kDoubtfulCover && larger(fit.wall, chosen, kLarger_ratio))
      best->doubt_mm = std::max(best->doubt_mm, fit.wall.radius_mm - chosen.radius_mm);
  for (const WallStart& start : starts)
    if (larger({start.center, start.radius_mm}, chosen, kLargerRing_ratio))
      best->doubt_mm = std::max(best->doubt_mm, start.radius_mm - chosen.radius_mm);
  return std::move(*best);
}

}  // namespace rondure
