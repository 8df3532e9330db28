#include "photo/solid/hole_seen.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Limits of bores were set looking at seeds 1 and 2 of tests/bench/solid_scenes, those of a hole about the axis
// (kAloneHoleScore and on) with seeds 3, 4, 5, 8 and 9 worked on; where no reason stands, by judgement. Checked on
// seeds 14, 16, 33 to 35, new when first looked at (tests/data/studies/solid_scenes.txt).
// A hole is seen with so much of the rays' score, so many rays on its line, and misses of so much, root mean square.
constexpr double kLeastHoleScore = 0.55, kLeastHoleCover = 0.7, kMostHoleRms_px = 0.5;
// Of the radius: the fit searches so far either way; a next ring within is its break down to so much; of a hole's
// edges, fewer than so many have the face outside where a break lies between.
constexpr double kHoleSpan_ratio = 0.12, kNextRing_ratio = 0.75, kFaceOutside_share = 0.4;
// Near and far rim are told apart from so many pixels on, as seen; a hole without a ring has to be clearer than one
// in a ring, and within so much of the part's radius of its axis.
constexpr double kRimsApart_px = 3, kAloneHoleScore = 0.7, kAloneHoleCover = 0.8, kHoleOffAxis_ratio = 0.05;
// Radii that are tried, each by so much larger; scored above so much they may be a hole's; the ground within is so
// much brighter than the face: a little more than what still counts as the face's light (kFaceLike of
// ring_roles.cpp: 1.22).
constexpr double kHoleStep = 1.04, kLikelyHoleScore = 0.3, kGroundClearOfFace = 1.25;
// Each costs a fit; the likeliest first.
constexpr std::size_t kMostLikelyHoles = 3;

WallShape hole_of(double top_mm) {
  WallShape through;
  through.top_mm = top_mm, through.hole = true;
  return through;
}

}  // namespace

bool HoleSearch::is_seen(const WallFit& hole) {
  return hole.score > kLeastHoleScore && hole.cover > kLeastHoleCover && hole.rms_px < kMostHoleRms_px;
}

WallFit HoleSearch::in_ring(std::size_t i, double top_mm, bool within) {
  const auto& rings = roles_.rings();
  std::size_t k = i;
  if (within) do
      ++k;
    while (k < rings.size() && rings[k].cover < kLeastBoreCover);
  if (k >= rings.size() || rings[k].radius_mm < kNextRing_ratio * rings[i].radius_mm) return {};
  std::vector<std::pair<RayEdge*, double>> put_aside;
  if (within)
    for (const RingEdge& e : rings[i].edges)
      for (RayEdge& ray_edge : rays_.rays[e.ray])
        if (&ray_edge == e.edge) put_aside.emplace_back(&ray_edge, ray_edge.weight), ray_edge.weight = 0;
  WallFit fit =
      fit_wall(rays_, camera_, {{rings[k].center, rings[k].radius_mm, kHoleSpan_ratio}}, hole_of(top_mm));
  for (const auto& [edge, weight] : put_aside) edge->weight = weight;
  return fit;
}

bool HoleSearch::is_within_break(const WallFit& hole) const {
  int face = 0;
  for (const ChosenEdge& c : hole.chosen) face += roles_.is_face(c.edge->outside);
  return face < kFaceOutside_share * static_cast<double>(hole.chosen.size());
}

std::optional<WallFit> HoleSearch::about_axis(double face_light, double light_beside) const {
  const double apart_px =
      (camera_.seen_at(part_.center, part_.face_mm) - part_.center).norm() * rays_.px_per_mm;
  if (apart_px < kRimsApart_px) return {};
  for (const double radius : likely_radii()) {
    WallFit hole =
        fit_wall(rays_, camera_, {{part_.center, radius, kHoleSpan_ratio}}, hole_of(part_.face_mm));
    if (is_seen(hole) && hole.score >= kAloneHoleScore && hole.cover >= kAloneHoleCover &&
        (hole.wall.center - part_.center).norm() <= kHoleOffAxis_ratio * part_.radius_mm &&
        hole.wall.radius_mm <= kWidestBore_ratio * part_.radius_mm &&
        ground_is_within(hole, face_light, light_beside))
      return hole;
  }
  return {};
}

// Better borne out than those next to them, the best first.
std::vector<double> HoleSearch::likely_radii() const {
  std::vector<std::pair<double, double>> scored;
  const double least = kLeastRadius_px / rays_.px_per_mm, most = kWidestBore_ratio * part_.radius_mm;
  for (double r = least; r < most; r *= kHoleStep) {
    const double scale_px = std::max(1.5, (kHoleStep - 1) * r * rays_.px_per_mm);
    scored.emplace_back(outline_score(rays_, camera_, {part_.center, r, 0, part_.face_mm, true}, scale_px, 2),
                        r);
  }
  std::vector<std::pair<double, double>> peaks;
  for (std::size_t i = 0; i < scored.size(); ++i)
    if (scored[i].first > kLikelyHoleScore && (i == 0 || scored[i].first > scored[i - 1].first) &&
        (i + 1 == scored.size() || scored[i].first >= scored[i + 1].first))
      peaks.push_back(scored[i]);
  std::sort(peaks.rbegin(), peaks.rend());
  std::vector<double> radii;
  for (const auto& [score, r] : peaks)
    if (radii.size() < kMostLikelyHoles) radii.push_back(r);
  return radii;
}

// All round brighter than what is around, than the face, and as the ground is, in whatever shade.
bool HoleSearch::ground_is_within(const WallFit& hole, double face_light, double light_beside) {
  std::vector<double> within;
  int dark = 0;
  for (const ChosenEdge& c : hole.chosen) within.push_back(c.edge->inside), dark += c.edge->dark_inside;
  const double light = median(std::move(within));
  return dark < (1 - kOneSign) * static_cast<double>(hole.chosen.size()) &&
         light > kGroundClearOfFace * face_light && light > kShadedGround_ratio * light_beside;
}

}  // namespace rondure
