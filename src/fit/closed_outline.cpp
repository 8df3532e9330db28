#include "closed_outline.hpp"

#include <array>
#include <cmath>

#include "rondure/fit/circle_fit.hpp"

namespace rondure {
namespace {

// As many as a byte tells apart: a point's sector is kept as one.
constexpr std::size_t kSectors = 256;
constexpr double kWidest_rad = 8.0 / kSectors;   // a sector of the diamond angle is at most this wide
constexpr double kHalfGap_rad = 20 * kPi / 180;  // to here the 1.2 of the header is derived
constexpr double kWidestZone_ratio = 0.2;        // of the nearest distance
constexpr std::size_t kEnoughPoints = 512;       // to show that there is no wide gap

// Direction on a diamond: 0 to 4 round the circle, monotone in the angle, no trigonometry. Returns the
// sector.
int sector_of(double x, double y) {
  const double p = y / (std::abs(x) + std::abs(y));
  const double round = x >= 0 ? (p >= 0 ? p : 4 + p) : 2 - p;
  return std::min(static_cast<int>(kSectors) - 1, static_cast<int>(round * (kSectors / 4)));
}

void add(Cloud& to, const Cloud& from, std::size_t i) {
  to.x.push_back(from.x[i]), to.y.push_back(from.y[i]), to.index.push_back(from.index[i]);
}

// Reach of the header for the sectors that are taken; infinite behind a gap too wide.
double reach_over_gaps(const std::array<bool, kSectors>& taken, double zone) {
  int empty = 0, longest = 0;
  for (std::size_t k = 0; k < 2 * kSectors; ++k) {
    empty = taken[k % kSectors] ? 0 : empty + 1;
    longest = std::max(longest, empty);
  }
  const double half_gap_rad = 0.5 * (longest + 2) * kWidest_rad;
  return half_gap_rad > kHalfGap_rad ? std::numeric_limits<double>::infinity()
                                     : 1.2 * zone / std::cos(half_gap_rad);
}

}  // namespace

double reach_of_better_centres(const Cloud& cloud, const Eigen::Vector2d& center, double nearest,
                               double zone) {
  const double infinite = std::numeric_limits<double>::infinity();
  if (!(zone <= kWidestZone_ratio * nearest)) return infinite;
  std::array<bool, kSectors> taken{};
  for (std::size_t step = 1 + cloud.size() / kEnoughPoints;; step = 1) {
    for (std::size_t i = 0; i < cloud.size(); i += step)
      taken[static_cast<std::size_t>(sector_of(cloud.x[i] - center.x(), cloud.y[i] - center.y()))] = true;
    const double reach = reach_over_gaps(taken, zone);
    if (step == 1 || reach < infinite) return reach;
  }
}

std::optional<ClosedOutline> closed_outline(std::span<const PartPoint> points, const CenteredCloud& c) {
  const auto fit = fit_circle(points);
  if (!fit) return {};
  ClosedOutline o;
  o.center = fit->circle.center.vec() - c.reference;
  const Cloud& cloud = c.cloud;
  const Extremes e = extremes(cloud, o.center.x(), o.center.y());
  const double nearest = std::sqrt(e.nearest2), zone = std::sqrt(e.farthest2) - nearest;
  if (!(zone <= kWidestZone_ratio * nearest)) return {};

  const std::size_t n = cloud.size();
  std::vector<unsigned char> sector(n);
  std::vector<double> distance(n);
  std::array<double, kSectors> least, most;
  least.fill(std::numeric_limits<double>::infinity());
  most.fill(-1);
  for (std::size_t i = 0; i < n; ++i) {
    const double x = cloud.x[i] - o.center.x(), y = cloud.y[i] - o.center.y();
    const auto s = static_cast<std::size_t>(sector_of(x, y));
    const double d = std::sqrt(x * x + y * y);
    sector[i] = static_cast<unsigned char>(s), distance[i] = d;
    least[s] = std::min(least[s], d), most[s] = std::max(most[s], d);
  }
  std::array<bool, kSectors> taken;
  for (std::size_t k = 0; k < kSectors; ++k) taken[k] = most[k] >= 0;
  o.reach = reach_over_gaps(taken, zone);
  if (!std::isfinite(o.reach)) return {};
  const double shift = std::sqrt(2.0) * o.reach;  // corners of the square
  const double slack = 1.5 * shift * (kWidest_rad + zone * shift / (nearest * nearest)) + 1e-14 * nearest;
  for (std::size_t i = 0; i < n; ++i) {
    if (distance[i] <= least[sector[i]] + slack) add(o.inner, cloud, i);
    if (distance[i] >= most[sector[i]] - slack) add(o.outer, cloud, i);
  }
  return o;
}

}  // namespace rondure
