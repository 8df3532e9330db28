#include <algorithm>
#include <cmath>
#include <memory>
#include <queue>
#include <string>

#include "closed_outline.hpp"
#include "contacts.hpp"
#include "extremes.hpp"
#include "point_cloud.hpp"
#include "rondure/fit/caliper.hpp"
#include "rondure/fit/reference_circles.hpp"
#include "zone_exchange.hpp"

namespace rondure {
namespace {

constexpr std::size_t kFew = 6;  // so many possible contacts on each side are resolved exactly
constexpr long kMostPatches = 50000;
constexpr double kTie = 2e-14;  // zones that differ by less, in extents, are equal
constexpr double kNear = 4;  // centres within this many extents are searched as squares, the others as rays

using CloudPtr = std::shared_ptr<const Cloud>;

// A patch of centres: a square about (u, v), or (far) curvature u and direction v, with the possible
// contacts.
struct Patch {
  bool far = false;
  double u = 0, v = 0, half_u = 0, half_v = 0;
  double bound = 0;                           // no centre in it has a narrower zone
  double least = 0, greatest = 0, reach = 0;  // at its middle; no distance changes by more than `reach` in it
  CloudPtr outer, inner;
  bool operator<(const Patch& other) const { return bound > other.bound; }
};

struct Best {
  double zone = std::numeric_limits<double>::infinity();
  Eigen::Vector2d center{0, 0};
  bool found = false, proven = true;
};

class Search {
public:
  Search(CloudPtr all, double extent, double strip) : all_(std::move(all)), extent_(extent) {
    best_.zone = strip;
  }

  // Centres near c0 only, with the points that can be contacts there.
  Best run_near(const ClosedOutline& o) {
    push({false, o.center.x(), o.center.y(), o.reach, o.reach, 0, 0, 0, 0,
          std::make_shared<const Cloud>(o.outer), std::make_shared<const Cloud>(o.inner)});
    drain();
    return best_;
  }

  Best run() {
    push({false, 0, 0, kNear * extent_, kNear * extent_, 0, 0, 0, 0, all_, all_});
    drain();
    const double most = 1 / (kNear * extent_);
    push({true, most / 2, kPi, most / 2, kPi, 0, 0, 0, 0, all_, all_});
    drain();
    return best_;
  }

private:
  void drain() {
    while (!queue_.empty()) {
      if (++patches_ > kMostPatches) {
        best_.proven = false;
        return;
      }
      const Patch p = queue_.top();
      queue_.pop();
      if (p.bound < best_.zone - kTie * extent_) expand(p);
    }
  }

  void push(Patch p) {
    if (p.far) {
      const double ex = std::cos(p.v), ey = std::sin(p.v);
      p.least = signed_extremes(*p.inner, p.u, ex, ey).least;
      p.greatest = signed_extremes(*p.outer, p.u, ex, ey).greatest;
      // |d/dv| <= extent / (1 - 1/kNear), |d/du| <= extent^2 (derived in the header of circle_sums.hpp: R q,
      // R^2 v)
      p.reach = extent_ * p.half_v / (1 - 1 / kNear) + extent_ * extent_ * p.half_u;
    } else {
      p.least = std::sqrt(extremes(*p.inner, p.u, p.v).nearest2);
      p.greatest = std::sqrt(extremes(*p.outer, p.u, p.v).farthest2);
      p.reach = p.half_u * std::sqrt(2.0);
    }
    p.bound = p.greatest - p.least - 2 * p.reach;
    if (p.bound < best_.zone - kTie * extent_) queue_.push(std::move(p));
  }

  CloudPtr contacts(const Patch& p, const CloudPtr& from, bool outer) const {
    if (p.reach > 0.5 * (p.greatest - p.least)) return from;  // nearly all of them
    auto near = std::make_shared<Cloud>();
    const double slack = 1e-14 * extent_,
                 limit = outer ? p.greatest - 2 * p.reach - slack : p.least + 2 * p.reach + slack;
    const double ex = std::cos(p.v), ey = std::sin(p.v);
    for (std::size_t i = 0; i < from->size(); ++i) {
      const double x = from->x[i], y = from->y[i];
      const double d = p.far ? signed_distance(x, y, p.u, ex, ey)
                             : std::sqrt((x - p.u) * (x - p.u) + (y - p.v) * (y - p.v));
      if (outer ? d >= limit : d <= limit)
        near->x.push_back(x), near->y.push_back(y), near->index.push_back(from->index[i]);
    }
    // Every pair is compared: only where they are few, or where a smaller patch left as many as before.
    if (near->size() <= 2 * kFew || (near->size() <= 64 && near->size() == from->size())) drop_copies(*near);
    return 2 * near->size() < from->size() || near->size() <= 64 ? near : from;
  }

  void expand(const Patch& p) {
    const CloudPtr outer = contacts(p, p.outer, true), inner = contacts(p, p.inner, false);
    if (!p.far && unbalanced(p, *outer, *inner)) return;
    const bool smallest = p.far ? p.half_v < 1e-15 : p.half_u < 1e-15 * extent_;
    if ((outer->size() <= kFew && inner->size() <= kFew) || smallest) return resolve(*outer, *inner);
    const double hu = p.half_u / 2, hv = p.half_v / 2;
    if (p.far && extent_ * p.half_u < 0.5 * p.half_v) {  // halve the longer side only
      for (const double dv : {-hv, hv}) push({true, p.u, p.v + dv, p.half_u, hv, 0, 0, 0, 0, outer, inner});
    } else if (p.far && p.half_v < 0.5 * extent_ * p.half_u) {
      for (const double du : {-hu, hu}) push({true, p.u + du, p.v, hu, p.half_v, 0, 0, 0, 0, outer, inner});
    } else {
      for (const double du : {-hu, hu})
        for (const double dv : {-hv, hv}) push({p.far, p.u + du, p.v + dv, hu, hv, 0, 0, 0, 0, outer, inner});
    }
  }

  // A direction in which every possible outer contact recedes less than every possible inner one: the zone
  // can still narrow.
  bool unbalanced(const Patch& p, const Cloud& outer, const Cloud& inner) const {
    if (!(p.least > 2 * p.reach)) return false;
    const Eigen::Vector2d c(p.u, p.v);
    const auto mean = [&](const Cloud& cloud) {
      Eigen::Vector2d sum(0, 0);
      for (std::size_t i = 0; i < cloud.size(); ++i) sum += (cloud.at(i) - c).normalized();
      return Eigen::Vector2d(sum / static_cast<double>(cloud.size()));
    };
    const Eigen::Vector2d w = mean(outer) - mean(inner);
    const double turn = w.norm() * p.reach / p.least;  // directions in the patch differ by less than this
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (std::size_t i = 0; i < outer.size(); ++i) low = std::min(low, (outer.at(i) - c).normalized().dot(w));
    for (std::size_t i = 0; i < inner.size(); ++i)
      high = std::max(high, (inner.at(i) - c).normalized().dot(w));
    return low - turn > high + turn;
  }

  // Every centre with four contacts: two and two, three outer, three inner.
  void resolve(const Cloud& outer, const Cloud& inner) {
    const std::size_t so = std::max<std::size_t>(1, outer.size() / kFew),
                      si = std::max<std::size_t>(1, inner.size() / kFew);
    for (std::size_t i = 0; i < outer.size(); i += so)
      for (std::size_t j = i + so; j < outer.size(); j += so) {
        for (std::size_t k = 0; k < inner.size(); k += si)
          for (std::size_t l = k + si; l < inner.size(); l += si)
            offer(bisector_crossing(outer.at(i), outer.at(j), inner.at(k), inner.at(l)), outer, inner);
        for (std::size_t k = j + so; k < outer.size(); k += so)
          offer(circumcenter(outer.at(i), outer.at(j), outer.at(k)), outer, inner);
      }
    for (std::size_t i = 0; i < inner.size(); i += si)
      for (std::size_t j = i + si; j < inner.size(); j += si)
        for (std::size_t k = j + si; k < inner.size(); k += si)
          offer(circumcenter(inner.at(i), inner.at(j), inner.at(k)), outer, inner);
  }

  void offer(const std::optional<Eigen::Vector2d>& c, const Cloud& outer, const Cloud& inner) {
    if (!c || !c->allFinite()) return;
    if (zone_at(*c, outer, inner) >= best_.zone * (1 - 1e-15)) return;
    const double zone = zone_at(*c, *all_, *all_);
    if (zone < best_.zone * (1 - 1e-15)) best_.zone = zone, best_.center = *c, best_.found = true;
  }

  double zone_at(const Eigen::Vector2d& c, const Cloud& outer, const Cloud& inner) const {
    const double far = c.norm();
    if (far > kNear * extent_) {  // by signed distances, which keep their digits
      const Eigen::Vector2d e = -c / far;
      return signed_extremes(outer, 1 / far, e.x(), e.y()).greatest -
             signed_extremes(inner, 1 / far, e.x(), e.y()).least;
    }
    return std::sqrt(extremes(outer, c.x(), c.y()).farthest2) -
           std::sqrt(extremes(inner, c.x(), c.y()).nearest2);
  }

  CloudPtr all_;
  double extent_;
  Best best_;
  long patches_ = 0;
  std::priority_queue<Patch> queue_;
};

// By exchange where that can be certified, else by search.
Best narrowest(std::span<const PartPoint> points, const CenteredCloud& c) {
  const auto exchanged = exchange_zone(c);
  if (exchanged && exchanged->certified) return {exchanged->zone, exchanged->center, true, true};
  const auto closed = closed_outline(points, c);
  const auto all = std::make_shared<const Cloud>(c.cloud);
  return closed ? Search(all, c.extent, std::numeric_limits<double>::infinity()).run_near(*closed)
                : Search(all, c.extent, caliper_widths(points)->least_mm).run();
}

}  // namespace

Result<ZoneCircles> minimum_zone(std::span<const PartPoint> points) {
  if (points.size() < 4)
    return Error{ErrorCode::kTooFewPoints,
                 "found " + std::to_string(points.size()) + ", needed 4 different points or more"};
  const CenteredCloud c = centered(points);
  if (!std::isfinite(c.extent)) return *refusal(points, survey(points, {}), 4);
  if (const int distinct = count_distinct(points, 4); distinct < 4)
    return Error{ErrorCode::kTooFewPoints,
                 "found " + std::to_string(distinct) + " different points, needed 4 or more"};
  const Best best = narrowest(points, c);
  if (!best.found && !best.proven)
    return Error{ErrorCode::kNoAnswer,
                 "these points are too far from round: a whole line of centres is equally good"};
  if (!best.found)
    return Error{ErrorCode::kNoAnswer,
                 "a straight strip is at least as narrow as any ring about these points"};
  ZoneCircles zone;
  zone.center = PartPoint::from(c.reference + best.center);
  const Extremes e = extremes(c.cloud, best.center.x(), best.center.y());
  zone.outer_radius_mm = std::sqrt(e.farthest2), zone.inner_radius_mm = std::sqrt(e.nearest2);
  zone.zone_mm = best.zone;
  zone.proven = best.proven;
  const double rounding = 1e-12 * (c.extent + 1e-3 * zone.outer_radius_mm);
  const auto squared = [](double d) { return d > 0 ? d * d : 0; };
  const double outer2 = squared(zone.outer_radius_mm - rounding),
               inner2 = squared(zone.inner_radius_mm + rounding);
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double d2 = (c.cloud.at(i) - best.center).squaredNorm();
    if (d2 >= outer2) zone.outer_contacts.push_back(c.cloud.index[i]);
    if (d2 <= inner2) zone.inner_contacts.push_back(c.cloud.index[i]);
  }
  return zone;
}

}  // namespace rondure
