#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <queue>
#include <string>

#include "closed_outline.hpp"
#include "contacts.hpp"
#include "extremes.hpp"
#include "point_cloud.hpp"
#include "rondure/fit/reference_circles.hpp"

namespace rondure {
namespace {

constexpr std::size_t kFewInscribed = 8;  // so many possible contacts are resolved exactly

// A square of centres; `near` holds every point that can be the nearest one to a centre in it.
struct Square {
  Eigen::Vector2d center;
  double half = 0;
  double bound = 0;  // no centre in it is farther than this from its nearest point
  std::shared_ptr<const Cloud> near;
  bool operator<(const Square& other) const { return bound < other.bound; }
};

struct Inscribed {
  Eigen::Vector2d center{0, 0};
  double radius = -1;
  std::array<int, 3> contacts{};
};

class InscribedSearch {
public:
  InscribedSearch(std::shared_ptr<const Cloud> all, double extent) : all_(std::move(all)), extent_(extent) {}

  Inscribed run_near(const ClosedOutline& o) {
    push({o.center, o.reach, 0, std::make_shared<const Cloud>(o.inner)});
    return drain();
  }

  Inscribed run() {
    push({{0, 0}, extent_, 0, all_});
    return drain();
  }

private:
  Inscribed drain() {
    while (!queue_.empty()) {
      const Square s = queue_.top();
      queue_.pop();
      if (s.bound <= best_.radius * (1 + 1e-15)) break;
      expand(s);
    }
    return best_;
  }

  void push(Square s) {
    const double reach = s.half * std::sqrt(2.0);
    s.bound = std::sqrt(extremes(*s.near, s.center.x(), s.center.y()).nearest2) + reach;
    if (s.bound > best_.radius) queue_.push(std::move(s));
  }

  void expand(const Square& s) {
    const double reach = s.half * std::sqrt(2.0), nearest = s.bound - reach, limit = nearest + 2 * reach;
    auto near = std::make_shared<Cloud>();
    Eigen::Vector2d lean(0, 0);
    for (std::size_t i = 0; i < s.near->size(); ++i) {
      const Eigen::Vector2d d = s.near->at(i) - s.center;
      const double length = d.norm();
      if (length > limit * (1 + 1e-15)) continue;
      near->x.push_back(s.near->x[i]), near->y.push_back(s.near->y[i]),
          near->index.push_back(s.near->index[i]);
      if (length > 0) lean += d / length;
    }
    if (near->size() <= 64) drop_copies(*near);
    if (nearest > reach && one_sided(*near, s.center, lean, reach / nearest)) return;
    if (near->size() <= kFewInscribed || s.half < 1e-15 * extent_) return resolve(*near);
    const auto kept = 2 * near->size() < s.near->size() ? std::shared_ptr<const Cloud>(near) : s.near;
    const double h = s.half / 2;
    for (const double dx : {-h, h})
      for (const double dy : {-h, h}) push({s.center + Eigen::Vector2d(dx, dy), h, 0, kept});
  }

  // All possible contacts lie on one side of every centre: a circle there can still grow.
  static bool one_sided(const Cloud& near, const Eigen::Vector2d& center, const Eigen::Vector2d& lean,
                        double sine) {
    const double norm = lean.norm();
    if (!(norm > 0)) return false;
    for (std::size_t i = 0; i < near.size(); ++i) {
      const Eigen::Vector2d d = near.at(i) - center;
      if (d.dot(lean) <= sine * norm * d.norm()) return false;
    }
    return true;
  }

  // Every circle through three of the possible contacts that surround its centre and that is empty.
  void resolve(const Cloud& near) {
    const std::size_t n = near.size(), step = std::max<std::size_t>(1, n / 12);
    for (std::size_t i = 0; i < n; i += step)
      for (std::size_t j = i + step; j < n; j += step)
        for (std::size_t k = j + step; k < n; k += step) {
          const Eigen::Vector2d p = near.at(i), q = near.at(j), r = near.at(k);
          const auto c = circumcenter(p, q, r);
          if (!c) continue;
          const double radius = (p - *c).norm();
          if (!(radius > best_.radius) || radius > 4 * extent_ || !surrounded(p - *c, q - *c, r - *c, radius))
            continue;
          const double nearest = std::sqrt(extremes(*all_, c->x(), c->y()).nearest2);
          if (nearest >= radius * (1 - 1e-13) && nearest > best_.radius)
            best_ = {*c, std::min(nearest, radius), {near.index[i], near.index[j], near.index[k]}};
        }
  }

  static bool surrounded(const Eigen::Vector2d& p, const Eigen::Vector2d& q, const Eigen::Vector2d& r,
                         double radius) {
    const auto turn = [](const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
      return a.x() * b.y() - a.y() * b.x();
    };
    const double a = turn(p, q), b = turn(q, r), c = turn(r, p), rounding = 1e-12 * radius * radius;
    return (a >= -rounding && b >= -rounding && c >= -rounding) ||
           (a <= rounding && b <= rounding && c <= rounding);
  }

  std::shared_ptr<const Cloud> all_;
  double extent_;
  Inscribed best_;
  std::priority_queue<Square> queue_;
};

}  // namespace

Result<ContactCircle> maximum_inscribed(std::span<const PartPoint> points) {
  if (points.size() < 3)
    return Error{ErrorCode::kTooFewPoints,
                 "found " + std::to_string(points.size()) + ", needed 3 different points or more"};
  CenteredCloud c = centered(points);
  if (!std::isfinite(c.extent)) return *refusal(points, survey(points, {}), 3);
  if (const int distinct = count_distinct(points, 3); distinct < 3)
    return Error{ErrorCode::kTooFewPoints,
                 "found " + std::to_string(distinct) + " different points, needed 3 or more"};
  const auto closed = closed_outline(points, c);
  InscribedSearch search(std::make_shared<const Cloud>(std::move(c.cloud)), c.extent);
  const Inscribed found = closed ? search.run_near(*closed) : search.run();
  if (found.radius < 0)
    return Error{ErrorCode::kNoAnswer,
                 "the points do not surround a circle: every inscribed circle can still grow"};
  return ContactCircle{{PartPoint::from(c.reference + found.center), found.radius},
                       {found.contacts.begin(), found.contacts.end()}};
}

}  // namespace rondure
