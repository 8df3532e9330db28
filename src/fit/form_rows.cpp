#include "rondure/fit/form_rows.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "rondure/core/median.hpp"

namespace rondure {

FormRows circle_rows(std::span<const PartPoint> points, std::span<const double> relative_sigma,
                     const Linearisation& at, int flat_last, int form_first, int form_last) {
  const auto n = static_cast<Eigen::Index>(points.size());
  FormRows rows;
  rows.flat.resize(n, 1 + 2 * flat_last);
  rows.form.resize(n, form_last < form_first ? 0 : 2 * (form_last - form_first + 1));
  rows.y.resize(n);
  const double cos0 = std::cos(at.zero_rad), sin0 = std::sin(at.zero_rad);
  for (Eigen::Index i = 0; i < n; ++i) {
    const double dx = points[i].x_mm - at.center.x_mm, dy = points[i].y_mm - at.center.y_mm;
    const double d = std::hypot(dx, dy);
    const double scale = relative_sigma.empty() ? 1 : 1 / relative_sigma[i];
    const double c1 = d > 0 ? (dx * cos0 + dy * sin0) / d : 1, s1 = d > 0 ? (dy * cos0 - dx * sin0) / d : 0;
    rows.y[i] = (d / at.radius_mm - 1) * scale;
    rows.flat(i, 0) = scale;
    double c = scale, s = 0;
    for (int k = 1; k <= std::max(flat_last, form_last); ++k) {
      const double next = c * c1 - s * s1;
      s = s * c1 + c * s1, c = next;
      if (k <= flat_last) rows.flat(i, 2 * k - 1) = c, rows.flat(i, 2 * k) = s;
      if (k >= form_first && k <= form_last)
        rows.form(i, 2 * (k - form_first)) = c, rows.form(i, 2 * (k - form_first) + 1) = s;
    }
  }
  return rows;
}

FormRows prewhitened(const FormRows& rows, std::span<const double> gaps, double phi, double prior_mass) {
  FormRows out = rows;
  out.log_weight += std::log(prior_mass);
  const auto more = rows.y.size() - 1;
  if (phi <= 0 || more < 1) return out;
  Eigen::VectorXd r(more), scale(more);
  for (Eigen::Index i = 0; i < more; ++i) {
    r[i] = std::pow(phi, gaps[static_cast<std::size_t>(i)]);
    const double spread2 = std::max(1 - r[i] * r[i], 1e-9);
    scale[i] = 1 / std::sqrt(spread2);
    out.log_weight -= 0.5 * std::log(spread2);
  }
  const auto whiten = [&](const auto& from, auto to) {
    to.tail(more) = (from.tail(more) - r.cwiseProduct(from.head(more))).cwiseProduct(scale);
  };
  for (Eigen::Index j = 0; j < rows.flat.cols(); ++j) whiten(rows.flat.col(j), out.flat.col(j));
  for (Eigen::Index j = 0; j < rows.form.cols(); ++j) whiten(rows.form.col(j), out.form.col(j));
  whiten(rows.y, out.y.head(rows.y.size()));
  return out;
}

std::vector<FormRows> correlated_alternatives(const FormRows& rows, std::span<const double> gaps) {
  // More mass on long correlation than a flat prior would give, and the variance of correlated terms widened by
  // 15 phi / n: n points underrate how far their errors reach (by about (1 + 3 phi)/n, Marriott & Pope 1954, from
  // memory). Without the widening 12 to 13 % of round parts with phi = 0.9 at n = 50 were called oval (measured).
  struct Node {
    double phi, mass;
  };
  constexpr Node kNodes[] = {{0, .40},  {.3, .02},  {.5, .02},   {.65, .03}, {.77, .04}, {.85, .05},
                             {.9, .06}, {.93, .08}, {.955, .09}, {.97, .10}, {.985, .11}};
  std::vector<FormRows> out;
  for (const Node& node : kNodes) {
    out.push_back(prewhitened(rows, gaps, node.phi, node.mass));
    out.back().variance_factor = 1 + 15 * node.phi / static_cast<double>(rows.y.size());
  }
  return out;
}

OrderedPoints in_order_round(std::span<const PartPoint> points, std::span<const double> relative_sigma,
                             const Linearisation& at) {
  // Counted from behind the middle of the arc, so that an arc is one run.
  std::vector<double> angle;
  for (const PartPoint& p : points)
    angle.push_back(
        wrap_direction_rad(std::atan2(p.y_mm - at.center.y_mm, p.x_mm - at.center.x_mm) - at.zero_rad - kPi));
  std::vector<std::size_t> order(points.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return angle[a] < angle[b]; });
  OrderedPoints out;
  for (std::size_t i = 0; i < order.size(); ++i) {
    out.points.push_back(points[order[i]]);
    if (!relative_sigma.empty()) out.relative_sigma.push_back(relative_sigma[order[i]]);
    if (i > 0) out.gaps.push_back(angle[order[i]] - angle[order[i - 1]]);
  }
  if (!out.gaps.empty()) {
    const double usual = std::max(median(out.gaps), 1e-12);
    for (double& gap : out.gaps) gap /= usual;
  }
  return out;
}

}  // namespace rondure
