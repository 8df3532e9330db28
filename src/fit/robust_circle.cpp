#include "rondure/fit/robust_circle.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

#include "broad_defect.hpp"
#include "defect_chance.hpp"
#include "rondure/core/dense_solve.hpp"
#include "rondure/core/order_statistic.hpp"
#include "rondure/fit/distributions.hpp"
#include "trimmed_outline.hpp"

namespace rondure {
namespace {

constexpr std::size_t kLeast = 6;      // below this nothing can be excluded
constexpr int kSearchPoints = 128;     // as many as the search for the description needs
constexpr double kCommonSlips = 0.05;  // of the points
constexpr double kLeastOdds = 2.5;     // sigma

// The points that are `used`, with their uncertainties.
struct Subset {
  std::vector<PartPoint> points;
  std::vector<double> sigma_mm;
};
Subset subset(std::span<const PartPoint> points, std::span<const double> sigma_mm,
              const std::vector<bool>& used) {
  Subset s;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!used[i]) continue;
    s.points.push_back(points[i]);
    if (!sigma_mm.empty()) s.sigma_mm.push_back(sigma_mm[i]);
  }
  return s;
}

std::vector<double> distances(std::span<const PartPoint> points, const Circle& c) {
  std::vector<double> d;
  d.reserve(points.size());
  for (const PartPoint& p : points) d.push_back(std::abs((p.vec() - c.center.vec()).norm() - c.radius_mm));
  return d;
}

// A circle that most of the points are near to, from three points at a time: the first reference, whatever a
// mistyped reading does to least squares.
Circle majority_circle(std::span<const PartPoint> points, const Circle& least_squares) {
  Circle best = least_squares;
  const std::size_t n = points.size(),
                    step = std::max<std::size_t>(1, n / static_cast<std::size_t>(kSearchPoints));
  std::vector<PartPoint> few;
  for (std::size_t i = 0; i < n; i += step) few.push_back(points[i]);
  std::sort(few.begin(), few.end(), [](const PartPoint& a, const PartPoint& b) {
    return std::pair(a.x_mm, a.y_mm) < std::pair(b.x_mm, b.y_mm);
  });
  double least = quantile(distances(few, best), 0.6);
  std::mt19937 random(4292);
  for (int k = 0; k < 80; ++k) {
    PartPoint three[3];
    for (PartPoint& p : three) p = few[random() % few.size()];
    const auto circle = fit_circle(three);
    if (!circle) continue;
    const double q = quantile(distances(few, circle->circle), 0.6);
    if (q < least) least = q, best = circle->circle;
  }
  for (int k = 0; k < 3; ++k) {
    std::vector<PartPoint> near;
    const auto d = distances(points, best);
    const double limit = 3 * 1.4826 * quantile(d, 0.5);
    for (std::size_t i = 0; i < n; ++i)
      if (d[i] <= limit) near.push_back(points[i]);
    const auto circle = fit_circle(near);
    if (!circle || quantile(distances(few, circle->circle), 0.6) > 1.2 * least) break;
    best = circle->circle;
  }
  return best;
}

// Most points lie so much nearer to some circle than the residuals of the plain fit say that the plain fit is
// spoiled.
bool majority_disagrees(std::span<const PartPoint> points, const Circle& majority, double rms_mm) {
  return points.size() >= 16 && quantile(distances(points, majority), 0.6) / 0.8416 < 0.55 * rms_mm;
}

// Plainly round: no residual of the circle stands out, their middle and their mean square tell the same
// sigma, and the form's columns explain no more than chance (5 %).
bool plainly_round(const Profile& p) {
  const int n = p.size();
  Description d;
  d.columns = 3;
  d.kept.assign(static_cast<std::size_t>(n), 1);
  const Eigen::VectorXd w = p.relative_sigma.cwiseInverse();
  const auto solve = [&](int columns) {
    const Eigen::MatrixXd b = w.asDiagonal() * p.basis.leftCols(columns);
    const Eigen::VectorXd y = w.cwiseProduct(p.deviation_mm);
    return Eigen::VectorXd(y - b * least_squares(b, y).x);
  };
  const Eigen::VectorXd residual = solve(3);
  d.residual = residual.cwiseQuotient(w);
  double dof = 0;
  const Eigen::VectorXd t = studentised(p, d, dof);
  if (t.cwiseAbs().maxCoeff() > student_quantile_two_sided(kFalseExclusion / n, dof)) return false;
  std::vector<double> size(residual.data(), residual.data() + n);
  for (double& s : size) s = std::abs(s);
  const double rms = std::sqrt(residual.squaredNorm() / (n - 3));
  if (rms > (1.15 + 1.5 / std::sqrt(n)) * 1.4826 * quantile(size, 0.5)) return false;
  if (p.told && chi2_upper_p(residual.squaredNorm() / (p.least_sigma_mm * p.least_sigma_mm), n - 3.0) < 0.05)
    return false;
  const int columns = p.models.back();
  if (columns == 3) return true;
  const double rest = solve(columns).squaredNorm(), gain = residual.squaredNorm() - rest;
  if (!(rest > 0)) return true;
  return f_upper_p((gain / (columns - 3)) / (rest / (n - columns)), columns - 3, n - columns) > 0.05;
}

// The shortest description, found on every few points where there are many, and carried over to all.
Description describe_all(const Profile& p) {
  const int step = (p.size() + kSearchPoints - 1) / kSearchPoints;
  if (step == 1) return describe(p);
  Description d = describe(thinned(p, step));
  if (d.columns == 0) return d;
  d.residual = p.deviation_mm - p.basis.leftCols(d.columns) * d.coefficients;
  d.kept.assign(static_cast<std::size_t>(p.size()), 1);
  for (int i = 0; i < p.size(); ++i)
    d.kept[static_cast<std::size_t>(i)] = std::abs(d.residual[i]) <= 3 * d.sigma_mm * p.relative_sigma[i];
  d.believed_sigma_mm =
      1.5 * d.sigma_mm;  // told by the few alone; real edges have longer tails than a Gaussian
  return d;
}

// Where slips are common, how many sigma make a point as likely one of them as noise: they are taken to be
// spread evenly over the heights seen. Infinite where they are rare.
double even_odds(const Profile& p, const Description& d) {
  const int n = p.size();
  double slips = 0, singly = n, height = 0;
  for (const Run& run : defect_runs(p, d.kept, d.residual)) {
    if (run.count > 2 && is_sector(p, run, d.residual)) {
      singly -= run.count;
      continue;
    }
    for (int k = 0; k < run.count; ++k) {
      const int i = (run.first + k) % n;
      if (d.kept[static_cast<std::size_t>(i)]) continue;
      ++slips, height = std::max(height, std::abs(d.residual[i]) / p.relative_sigma[i]);
    }
  }
  if (slips < std::max(3.0, kCommonSlips * n) || !(d.sigma_mm > 0))
    return std::numeric_limits<double>::infinity();
  const double ratio = (singly - slips) / slips * 2 * height / (d.sigma_mm * std::sqrt(2 * kPi));
  return std::max(kLeastOdds, std::sqrt(2 * std::log(std::max(1.0, ratio))));
}

// How far the told noise holds for the kept points: 1 where they scatter no more, 0 where nothing is told.
double told_share(const Profile& p, const Description& d) {
  return p.told && d.sigma_mm > 0 ? std::pow(std::min(1.0, p.least_sigma_mm / d.sigma_mm), 2) : 0;
}

// Keeps what the model explains: exclusion by the studentised residual, repeated until nothing changes,
// and once more nearer where slips turn out to be common; then neighbours of a sector that lie on its side by
// more than two sigma join it. Points let in again may not widen sigma beyond its own uncertainty, or low
// defects would let in higher ones.
void classify(const Profile& p, Description& d) {
  const int n = p.size();
  // The search takes the best of many subsets; among few points that is far better than chance, but for their told noise.
  const double lucky = std::min(30.0, std::pow(18.0 / n, 8));
  const double most_sigma_mm = (1 + 9.0 / n) * d.believed_sigma_mm;
  for (const bool nearer : {false, true}) {
    if (nearer && !std::isfinite(even_odds(p, d))) break;
    for (int pass = 0; pass < 20; ++pass) {
      refit(p, d);
      double dof = 0;
      const Eigen::VectorXd t = studentised(p, d, dof);
      const double chance = kFalseExclusion / n / (1 + (1 - told_share(p, d)) * lucky);
      const double widened = most_sigma_mm > 0 ? std::max(1.0, d.sigma_mm / most_sigma_mm) : 1;
      double limit = student_quantile_two_sided(chance, dof) / widened;
      if (nearer) limit = std::min(limit, even_odds(p, d));
      std::vector<char> kept(static_cast<std::size_t>(n));
      for (int i = 0; i < n; ++i) kept[static_cast<std::size_t>(i)] = std::abs(t[i]) <= limit;
      if (kept == d.kept) break;
      d.kept = std::move(kept);
    }
  }
  const auto position = [&](int i) { return static_cast<std::size_t>((i % n + n) % n); };
  for (const Run& run : defect_runs(p, d.kept, d.residual)) {
    if (!is_sector(p, run, d.residual)) continue;
    for (int k = 0; k < run.count; ++k) d.kept[position(run.first + k)] = 0;
    if (run.count < 3) continue;
    const double side = d.residual[run.first] > 0 ? 1 : -1;
    for (const int direction : {-1, 1}) {
      int i = direction < 0 ? run.first - 1 : run.first + run.count;
      for (int grown = 0; grown < run.count; ++grown, i += direction) {
        if (!p.closed && (i < 0 || i >= n)) break;
        const auto at = position(i);
        const auto e = static_cast<Eigen::Index>(at);
        if (!d.kept[at] || side * d.residual[e] < 2 * d.sigma_mm * p.relative_sigma[e]) break;
        d.kept[at] = 0;
      }
    }
  }
  refit(p, d);
}

// The outline and its defects. Where these are not beyond chance: without any, or round with defects that
// are, whichever is shorter.
Description defects_of(const Profile& p) {
  Description d = describe_all(p);
  if (d.columns == 0) return d;  // no description keeps most of the points
  classify(p, d);
  narrow_sectors(p, d);
  if (beyond_chance(p, d)) return d;
  Description whole = describe_without_defects(p);
  if (d.columns == 3) return whole;
  Profile round = p;
  round.models = {3};
  d = describe_all(round);
  if (d.columns == 0) return whole;
  classify(round, d);
  return description_length(p, d) < whole.length && beyond_chance(p, d) ? d : whole;
}

Circle mean_circle(const Profile& p, const Description& d, const Circle& reference) {
  const double middle = 0.5 * (p.angle_rad[0] + p.angle_rad[p.size() - 1]), c = std::cos(middle),
               s = std::sin(middle);
  const Eigen::VectorXd& k = d.coefficients;
  return {{reference.center.x_mm + c * k[1] - s * k[2], reference.center.y_mm + s * k[1] + c * k[2]},
          reference.radius_mm + k[0]};
}

void report_defects(const Profile& p, const Description& d, RobustCircle& result) {
  const int n = p.size();
  const auto outline_height = [&](int k) { return d.residual[k % n]; };
  for (const Run& run : defect_runs(p, d.kept, d.residual)) {
    if (!is_sector(p, run, d.residual)) {
      for (int k = 0; k < run.count; ++k) {
        const auto at = static_cast<std::size_t>((run.first + k) % n);
        if (d.kept[at]) continue;
        result.slips.push_back({p.index[at], wrap_direction_rad(p.angle_rad[static_cast<Eigen::Index>(at)]),
                                outline_height(run.first + k)});
      }
      continue;
    }
    DefectSector sector;
    sector.from_rad = wrap_direction_rad(p.angle_rad[run.first]);
    sector.to_rad = wrap_direction_rad(p.angle_rad[(run.first + run.count - 1) % n]);
    for (int k = 0; k < run.count; ++k) {
      const double h = outline_height(run.first + k);
      if (std::abs(h) > std::abs(sector.height_mm)) sector.height_mm = h;
      sector.mean_height_mm += h / run.count;
      sector.indices.push_back(p.index[static_cast<std::size_t>((run.first + k) % n)]);
    }
    result.sectors.push_back(std::move(sector));
  }
  std::sort(result.slips.begin(), result.slips.end(),
            [](const SlippedPoint& a, const SlippedPoint& b) { return a.index < b.index; });
  std::sort(result.sectors.begin(), result.sectors.end(),
            [](const DefectSector& a, const DefectSector& b) { return a.from_rad < b.from_rad; });
}

}  // namespace

Result<RobustCircle> fit_robust_circle(std::span<const PartPoint> points, std::span<const double> sigma_mm) {
  auto plain = fit_circle(points, sigma_mm);
  if (!plain) return plain.error();
  RobustCircle result;
  result.used.assign(points.size(), true);
  result.points_used = static_cast<int>(points.size());
  result.sigma_mm = plain->sigma_mm;
  result.fit = *plain;
  if (points.size() < kLeast) return result;
  Circle circle = majority_circle(points, plain->circle);
  {
    const Profile p = profile_about(points, sigma_mm, plain->circle);
    if (plainly_round(p) && !majority_disagrees(points, circle, plain->rms_mm)) return result;
  }
  Description d;
  for (int round = 0; round < 2; ++round) {
    const Circle reference = circle;
    const Profile p = profile_about(points, sigma_mm, circle);
    if (round == 0) {
      d = defects_of(p);
      if (d.columns == 0) return result;
    } else {
      std::vector<char> kept(points.size());
      for (std::size_t k = 0; k < points.size(); ++k)
        kept[k] = result.used[static_cast<std::size_t>(p.index[k])];
      d.kept = std::move(kept);
      // About the new centre the outline may no longer be seen far enough round for so many columns.
      d.columns = std::min(d.columns, p.models.back());
      if (std::count(d.kept.begin(), d.kept.end(), 1) < p.size())
        classify(p, d);
      else
        refit(p, d);
      leave_out_broad_defect(p, d);
    }
    for (std::size_t k = 0; k < points.size(); ++k)
      result.used[static_cast<std::size_t>(p.index[k])] = d.kept[k];
    const Subset s = subset(points, sigma_mm, result.used);
    auto fit = fit_circle(s.points, s.sigma_mm);
    if (!fit) {  // too few are left: all points as they stand
      result.used.assign(points.size(), true);
      return result;
    }
    circle = fit->circle;
    if (round == 0) continue;
    result.fit = *std::move(fit);
    result.points_used = static_cast<int>(s.points.size());
    result.sigma_mm = d.sigma_mm;
    result.form_columns = d.columns - 3;
    if (p.closed) result.outline_circle = mean_circle(p, d, reference);
    report_defects(p, d, result);
  }
  return result;
}

}  // namespace rondure
