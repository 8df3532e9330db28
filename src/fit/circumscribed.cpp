#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "contacts.hpp"
#include "extremes.hpp"
#include "point_cloud.hpp"
#include "rondure/fit/reference_circles.hpp"

namespace rondure {
namespace {

// Points by number, up to four, without a trip to the heap.
struct Few {
  std::array<std::size_t, 4> at{};
  std::size_t count = 0;
  const std::size_t* begin() const { return at.data(); }
  const std::size_t* end() const { return at.data() + count; }
};

struct Disc {
  Eigen::Vector2d center{0, 0};
  double radius = -1;
  Few contacts;
};

// Smallest circle of up to four points with the last one on it.
Disc smallest_disc(const Cloud& cloud, const Few& points) {
  Disc best;
  const std::size_t n = points.count, q = points.at[n - 1];
  const auto offer = [&](const Eigen::Vector2d& center, const Few& contacts) {
    const double radius = (cloud.at(q) - center).norm();
    if (best.radius >= 0 && radius >= best.radius) return;
    for (const std::size_t i : points)
      if ((cloud.at(i) - center).norm() > radius * (1 + 1e-14)) return;
    best = {center, radius, contacts};
  };
  for (std::size_t i = 0; i + 1 < n; ++i)
    offer(0.5 * (cloud.at(q) + cloud.at(points.at[i])), {{points.at[i], q}, 2});
  for (std::size_t i = 0; i + 1 < n; ++i)
    for (std::size_t j = i + 1; j + 1 < n; ++j)
      if (const auto c = circumcenter(cloud.at(points.at[i]), cloud.at(points.at[j]), cloud.at(q)))
        offer(*c, {{points.at[i], points.at[j], q}, 3});
  return best;
}

}  // namespace

Result<ContactCircle> minimum_circumscribed(std::span<const PartPoint> points) {
  if (points.empty()) return Error{ErrorCode::kTooFewPoints, "found none, needed 2 different points or more"};
  const CenteredCloud c = centered(points);
  if (!std::isfinite(c.extent)) return *refusal(points, survey(points, {}), 2);
  if (c.extent == 0) return Error{ErrorCode::kTooFewPoints, "found 1 different point, needed 2 or more"};
  const Cloud& cloud = c.cloud;
  const std::size_t first = farthest(cloud, 0, 0), second = farthest(cloud, cloud.x[first], cloud.y[first]);
  Disc disc = smallest_disc(cloud, {{first, second}, 2});
  for (int exchange = 0; exchange < 1000; ++exchange) {
    const std::size_t q = farthest(cloud, disc.center.x(), disc.center.y());
    if ((cloud.at(q) - disc.center).norm() <= disc.radius * (1 + 4e-16)) break;
    Few four = disc.contacts;
    four.at[four.count++] = q;
    Disc next = smallest_disc(cloud, four);
    if (!(next.radius > disc.radius)) break;  // the last bit of the arithmetic
    disc = std::move(next);
  }
  ContactCircle result{{PartPoint::from(c.reference + disc.center), disc.radius}, {}};
  for (const std::size_t i : disc.contacts) result.contacts.push_back(cloud.index[i]);
  return result;
}

double radial_spread(std::span<const PartPoint> points, const PartPoint& center) {
  const CenteredCloud c = centered(points);
  const Eigen::Vector2d at = center.vec() - c.reference;
  const Extremes e = extremes(c.cloud, at.x(), at.y());
  return std::sqrt(e.farthest2) - std::sqrt(e.nearest2);
}

}  // namespace rondure
