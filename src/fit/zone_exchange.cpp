#include "zone_exchange.hpp"

#include <array>

#include "closed_outline.hpp"
#include "contacts.hpp"

namespace rondure {
namespace {

// A bound, by judgement, on a loop that ends by itself: what is not found by then is searched for (zone.cpp), which takes
// longer and is as exact.
constexpr int kMostExchanges = 60;
constexpr double kRounding = 1e-15;  // of the extent: two distances that differ by less are equal

struct Four {
  std::array<std::size_t, 2> outer{}, inner{};
};

// The ends of the outline along x and along y: their directions alternate.
Four four_ends(const Cloud& cloud) {
  const auto [left, right] = std::minmax_element(cloud.x.begin(), cloud.x.end());
  const auto [low, high] = std::minmax_element(cloud.y.begin(), cloud.y.end());
  const auto at = [](const auto& from, const auto& i) { return static_cast<std::size_t>(i - from.begin()); };
  return {{at(cloud.x, left), at(cloud.x, right)}, {at(cloud.y, low), at(cloud.y, high)}};
}

// `in` takes the place of that one of `pair` on whose side of the other pair it lies, seen from the centre.
void exchange(const Cloud& cloud, const Eigen::Vector2d& center, std::size_t in,
              std::array<std::size_t, 2>& pair, const std::array<std::size_t, 2>& other) {
  const auto direction = [&](std::size_t i) { return Eigen::Vector2d((cloud.at(i) - center).normalized()); };
  const Eigen::Vector2d from = direction(other[0]), along = direction(other[1]) - from;
  const auto side = [&](std::size_t i) {
    const Eigen::Vector2d d = direction(i) - from;
    return along.x() * d.y() - along.y() * d.x() > 0;
  };
  pair[side(in) == side(pair[0]) ? 0 : 1] = in;
}

// s of the header: support of the differences of directions, least over the normals of the sides of their
// hull.
double sharpness(const Cloud& cloud, const Four& four, const Eigen::Vector2d& center) {
  std::array<Eigen::Vector2d, 4> difference;
  for (std::size_t k = 0; k < 4; ++k)
    difference[k] = (cloud.at(four.inner[k / 2]) - center).normalized() -
                    (cloud.at(four.outer[k % 2]) - center).normalized();
  double least = 2;
  for (std::size_t i = 0; i < 4; ++i)
    for (std::size_t j = i + 1; j < 4; ++j) {
      const Eigen::Vector2d along = difference[j] - difference[i], normal(-along.y(), along.x());
      double low = 0, high = 0;
      for (const Eigen::Vector2d& d : difference)
        low = std::min(low, d.dot(normal)), high = std::max(high, d.dot(normal));
      if (const double length = normal.norm(); length > 0)
        least = std::min({least, high / length, -low / length});
    }
  return least;
}

bool is_certain(const Cloud& cloud, const Four& four, const ExchangedZone& at, double nearest) {
  const double reach = reach_of_better_centres(cloud, at.center, nearest, at.zone);
  if (!(reach < 0.5 * nearest)) return false;
  return sharpness(cloud, four, at.center) > 1.01 * reach / (2 * (nearest - reach));
}

}  // namespace

std::optional<ExchangedZone> exchange_zone(const CenteredCloud& points) {
  const Cloud& cloud = points.cloud;
  const double rounding = kRounding * points.extent;
  Four four = four_ends(cloud);
  double zone_before = -std::numeric_limits<double>::infinity();
  for (int k = 0; k < kMostExchanges; ++k) {
    const auto c = bisector_crossing(cloud.at(four.outer[0]), cloud.at(four.outer[1]),
                                     cloud.at(four.inner[0]), cloud.at(four.inner[1]));
    if (!c || !(c->norm() < points.extent)) return {};
    const double outer = (cloud.at(four.outer[0]) - *c).norm(), inner = (cloud.at(four.inner[0]) - *c).norm();
    if (!(outer - inner > zone_before)) return {};
    zone_before = outer - inner;
    const ExtremePoints e = extreme_points(cloud, c->x(), c->y());
    const double farthest = (cloud.at(e.farthest) - *c).norm(), nearest = (cloud.at(e.nearest) - *c).norm();
    const double above = farthest - outer, below = inner - nearest;
    if (std::max(above, below) <= rounding) {
      ExchangedZone found{*c, farthest - nearest};
      found.certified = is_certain(cloud, four, found, nearest);
      return found;
    }
    if (above > below)
      exchange(cloud, *c, e.farthest, four.outer, four.inner);
    else
      exchange(cloud, *c, e.nearest, four.inner, four.outer);
  }
  return {};
}

}  // namespace rondure
