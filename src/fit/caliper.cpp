#include "rondure/fit/caliper.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "point_cloud.hpp"

namespace rondure {
namespace {

double turn(const Eigen::Vector2d& a, const Eigen::Vector2d& b, const Eigen::Vector2d& c) {
  const Eigen::Vector2d p = b - a, q = c - a;
  return p.x() * q.y() - p.y() * q.x();
}

}  // namespace

std::vector<int> convex_hull(std::span<const PartPoint> points) {
  std::vector<int> order(points.size());
  std::iota(order.begin(), order.end(), 0);
  const auto at = [&](int i) { return points[static_cast<std::size_t>(i)]; };
  const Eigen::Vector2d origin = points.empty() ? Eigen::Vector2d(0, 0) : points[0].vec();
  const auto vec = [&](int i) { return Eigen::Vector2d(at(i).vec() - origin); };
  std::sort(order.begin(), order.end(), [&](int i, int j) {
    return std::pair(at(i).x_mm, at(i).y_mm) < std::pair(at(j).x_mm, at(j).y_mm);
  });
  const auto same = [&](int i, int j) { return at(i).x_mm == at(j).x_mm && at(i).y_mm == at(j).y_mm; };
  order.erase(std::unique(order.begin(), order.end(), same), order.end());
  if (order.size() < 3) return order;
  // Monotone chain: below from left to right, then above from right to left (A. Andrew, IPL 9 (1979) 216).
  std::vector<int> hull;
  const auto add = [&](int i, std::size_t least) {
    while (hull.size() >= least + 2 && turn(vec(hull[hull.size() - 2]), vec(hull.back()), vec(i)) <= 0)
      hull.pop_back();
    hull.push_back(i);
  };
  for (const int i : order) add(i, 0);
  const std::size_t below = hull.size() - 1;
  for (auto i = order.rbegin() + 1; i != order.rend(); ++i) add(*i, below);
  hull.pop_back();
  return hull;
}

Result<CaliperWidths> caliper_widths(std::span<const PartPoint> points) {
  if (points.empty()) return Error{ErrorCode::kTooFewPoints, "found none, needed one or more"};
  for (const PartPoint& p : points)
    if (!std::isfinite(p.x_mm) || !std::isfinite(p.y_mm)) return *refusal(points, survey(points, {}), 1);
  const std::vector<int> hull = convex_hull(points);
  std::vector<Eigen::Vector2d> h;
  for (const int i : hull) h.push_back(points[static_cast<std::size_t>(i)].vec() - points[0].vec());
  CaliperWidths w;
  const std::size_t n = h.size();
  const auto axis = [](const Eigen::Vector2d& d) { return wrap_axis_rad(std::atan2(d.y(), d.x())); };
  if (n < 3) {
    if (n == 2)
      w = {(h[1] - h[0]).norm(), 0, axis(h[1] - h[0]), axis({h[0].y() - h[1].y(), h[1].x() - h[0].x()})};
    return w;
  }
  w.least_mm = std::numeric_limits<double>::infinity();
  std::size_t far = 1;
  const auto offer = [&](std::size_t i, std::size_t j) {
    const double d = (h[i] - h[j]).norm();
    if (d > w.greatest_mm) w.greatest_mm = d, w.greatest_axis_rad = axis(h[i] - h[j]);
  };
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t next = (i + 1) % n;
    const Eigen::Vector2d edge = h[next] - h[i];
    const double length = edge.norm();
    while (turn(h[i], h[next], h[(far + 1) % n]) > turn(h[i], h[next], h[far])) {
      far = (far + 1) % n;
      offer(i, far), offer(next, far);
    }
    offer(i, far), offer(next, far), offer(i, (far + 1) % n), offer(next, (far + 1) % n);
    const double width = turn(h[i], h[next], h[far]) / length;
    if (width < w.least_mm) w.least_mm = width, w.least_axis_rad = axis({-edge.y(), edge.x()});
  }
  return w;
}

}  // namespace rondure
