#include "photo/edge/coarser_looks.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

#include "photo/edge/edge_coarse.hpp"

namespace rondure {
namespace {

// Set on photographs of coins (tests/bench/solid_scenes/study_coins), which says what comes of them.
constexpr int kCoarsest_px = 300;           // the picture's longer side
constexpr double kLeastCoverage_deg = 210;  // shadows and glare are round over less
// Of two looks at one circle the finer counts when it shows so much of what the coarser does, and lies so near.
constexpr double kAsWellSeen = 0.7, kSameCircle_ratio = 0.04;
constexpr double kExpected_reductions =
    1.2;  // pixels of its look that an edge lies from where it was seen, at most

bool is_seen_by(const std::vector<RoundCandidate>& finer, const RoundCandidate& coarse) {
  return std::ranges::any_of(finer, [&](const RoundCandidate& fine) {
    const double apart_mm = (fine.circle.center.vec() - coarse.circle.center.vec()).norm() +
                            std::abs(fine.circle.radius_mm - coarse.circle.radius_mm);
    return fine.dark_inside == coarse.dark_inside && fine.coverage_deg > kAsWellSeen * coarse.coverage_deg &&
           apart_mm < kSameCircle_ratio * coarse.circle.radius_mm;
  });
}

double direction_from(const Circle& circle, const PartPoint& at) {
  const Eigen::Vector2d d = at.vec() - circle.center.vec();
  return wrap_direction_rad(std::atan2(d.y(), d.x()));
}

}  // namespace

std::vector<RoundCandidate> with_coarser_looks(const Picture& picture, const MeasuringPlane& plane,
                                               int fine_reduction, double min_diameter_px,
                                               std::vector<RoundCandidate> found) {
  const int longest_px = std::max(picture.width_px, picture.height_px);
  for (int reduction = 2 * fine_reduction; longest_px / reduction >= kCoarsest_px; reduction *= 2) {
    const EdgeChains chains = find_edge_chains(picture, (longest_px + reduction - 1) / reduction);
    std::vector<RoundCandidate> more = find_round_candidates(chains, plane, min_diameter_px).found;
    std::erase_if(more, [&](const RoundCandidate& c) {
      return c.coverage_deg < kLeastCoverage_deg || is_seen_by(found, c);
    });
    found.insert(found.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
  }
  std::ranges::stable_sort(found, std::greater<>(),
                           [](const RoundCandidate& c) { return c.circle.radius_mm; });
  return found;
}

void expect_where_seen(EdgeBand& band, const MeasuringPlane& plane, const RoundCandidate& candidate,
                       const Circle& circle) {
  if (band.sectors.empty()) return;
  std::vector<double> directions;
  for (const Sector& s : band.sectors) {
    const auto at = part_from_pixel(plane, {s.at.x(), s.at.y()});
    directions.push_back(at ? direction_from(circle, *at) : 0);
  }
  std::vector<double> places(band.sectors.size(), std::nan(""));
  for (const PixelPoint& px : candidate.seen) {
    const auto at = part_from_pixel(plane, px);
    if (!at) continue;
    const auto next = std::ranges::lower_bound(directions, direction_from(circle, *at));
    const std::size_t k = static_cast<std::size_t>(next - directions.begin()) % band.sectors.size();
    const Sector& sector = band.sectors[k];
    const double s_px = (Eigen::Vector2d(px.x_px, px.y_px) - sector.at).dot(sector.outward);
    if (std::abs(s_px) < band.reach_px) places[k] = s_px;
  }
  band.expected_px = smooth_places(places);
  band.expected_reach_px = kExpected_reductions * candidate.reduction;
}

}  // namespace rondure
