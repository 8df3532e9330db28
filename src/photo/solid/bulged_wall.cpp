#include "photo/solid/bulged_wall.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

namespace rondure {
namespace {

constexpr double kBulge_ratio = 0.05;  // of the radius: prior of the bulge
constexpr double kClearly_chi2 = 16;   // 4 u
constexpr double kDoubt_ratio = 0.5;   // standard uncertainty, of what the bulge changes of size and oval
constexpr double kLeastWall_mm = 0.5;  // lower ones show nothing of it
constexpr int kHeights = 8;            // along the wall, a parabola between them
constexpr double kTurn_rad = 0.35;     // either side of the straight wall's normal
// Halvings of the turn, at most: the first step, 0.09 rad, comes to less than 0.001 rad after seven, and a turn so
// far moves a distance by its square only. Rounds of Gauss-Newton: by judgement, as test_bulged_wall.cpp bears out.
constexpr int kSteps = 14, kRounds = 15;

// A told height starts at its prior's middle: the straight wall gave way to the bulge.
constexpr double kTold_u_mm = 1.0;
// Bulges the fit begins at, of the radius, and what the top is raised by where its height is not told: one start
// alone may end in a lesser minimum. By judgement; checked by test_bulged_wall.cpp.
constexpr std::array kStart_ratios = {0.02, 0.06};
constexpr std::array kStartsHigher_mm = {0.0, 2.5, 5.0};

enum { kX, kY, kR, kHigh, kCos, kSin, kBulge, kUnknowns };
using Row = Eigen::Matrix<double, kUnknowns, 1>;
using Square = Eigen::Matrix<double, kUnknowns, kUnknowns>;

class BulgedOutline {
public:
  BulgedOutline(const CameraPlace& camera, const BulgedWall& b) : camera_(camera), b_(b) {}

  struct Support {
    double reach = 0, z = 0, t = 0;
  };

  Support support(double angle) const {
    const Eigen::Vector2d n(std::cos(angle), std::sin(angle));
    const double foot = b_.wall.foot_mm, high = std::max(b_.wall.top_mm - foot, 0.05);
    const double base = n.dot(b_.wall.center - camera_.foot) + b_.wall.radius_mm +
                        b_.wall.oval.dot(Eigen::Vector2d(std::cos(2 * angle), std::sin(2 * angle)));
    const auto at = [&](double t) {
      return camera_.scale_at(foot + 0.5 * (1 + t) * high) * (base - b_.bulge_mm * t * t);
    };
    double best = -1, most = -1e9;
    for (int k = 0; k <= kHeights; ++k)
      if (const double t = -1 + 2.0 * k / kHeights, v = at(t); v > most) best = t, most = v;
    const double step = 2.0 / kHeights;
    if (best > -1 + 0.5 * step && best < 1 - 0.5 * step) {
      const double low = at(best - step), up = at(best + step), bend = low - 2 * most + up;
      if (bend < 0) best += step * std::clamp(0.5 * (low - up) / bend, -0.5, 0.5), most = at(best);
    }
    return {n.dot(camera_.foot) + most, foot + 0.5 * (1 + best) * high, best};
  }

  double beyond(const Eigen::Vector2d& at, double angle) const {
    return at.x() * std::cos(angle) + at.y() * std::sin(angle) - support(angle).reach;
  }

  // The direction in which the place lies farthest out: the outline's normal there.
  double normal_at(const Eigen::Vector2d& at, double near) const {
    double angle = near, most = beyond(at, near), step = kTurn_rad / 4;
    for (int k = 0; k < kSteps; ++k) {
      const double low = beyond(at, angle - step), up = beyond(at, angle + step);
      if (std::max(low, up) > most)
        angle += up > low ? step : -step, most = std::max(low, up);
      else
        step *= 0.5;
    }
    return angle;
  }

  Eigen::Vector2d point(double angle) const {
    const Support s = support(angle);
    const double scale = camera_.scale_at(s.z),
                 radius = b_.wall.radius_mm - b_.bulge_mm * s.t * s.t +
                          b_.wall.oval.dot(Eigen::Vector2d(std::cos(2 * angle), std::sin(2 * angle)));
    return camera_.foot + scale * (b_.wall.center - camera_.foot +
                                   radius * Eigen::Vector2d(std::cos(angle), std::sin(angle)));
  }

private:
  const CameraPlace& camera_;
  const BulgedWall& b_;
};

class Bulging {
public:
  Bulging(const RayEdges& rays, const CameraPlace& camera, const WallFit& straight)
      : px_per_mm_(rays.px_per_mm), camera_(camera), straight_(straight) {
    const SeenOutline outline(camera, straight.wall);
    for (const ChosenEdge& c : straight.chosen) {
      const Eigen::Vector2d n = outline.nearest(c.edge->at).normal;
      directions_.push_back(std::atan2(n.y(), n.x()));
    }
  }

  // A bulge of nothing does not tell which way to go: its slope is the radius' own. So from several bulges and heights.
  std::optional<BulgedWall> run() {
    BulgedWall as_straight{straight_.wall, 0, 0, 0};
    settle(as_straight, false);
    std::optional<BulgedWall> best;
    double least = 0;
    for (const double ratio : kStart_ratios)
      for (const double higher_mm : kStartsHigher_mm) {
        if (higher_mm > 0 && straight_.shape.u_top_mm < kTold_u_mm) continue;
        BulgedWall bulged = as_straight;
        if (straight_.shape.u_top_mm < kTold_u_mm) bulged.wall.top_mm = straight_.shape.top_mm;
        bulged.bulge_mm = ratio * straight_.wall.radius_mm, bulged.wall.top_mm += higher_mm;
        bulged.wall.radius_mm += 0.3 * bulged.bulge_mm, bulged.wall.oval *= 0.2;
        settle(bulged, true);
        const double cost_now = cost(bulged, noise_px(as_straight));
        if (!(bulged.u_bulge_mm > 0) || !std::isfinite(cost_now) || (best && cost_now >= least)) continue;
        best = bulged, least = cost_now;
      }
    if (!best) return {};
    const double noise = noise_px(*best);
    best->better_chi2 = cost(as_straight, noise) - cost(*best, noise);
    return best;
  }

private:
  void settle(BulgedWall& b, bool free) {
    for (int round = 0; round < kRounds; ++round) {
      Square n = Square::Zero();
      Row r = Row::Zero();
      double chi2 = 0, sum = 0;
      const BulgedOutline outline(camera_, b);
      for (std::size_t i = 0; i < directions_.size(); ++i) {
        const RayEdge& e = *straight_.chosen[i].edge;
        const double angle = outline.normal_at(e.at, directions_[i]);
        const BulgedOutline::Support s = outline.support(angle);
        const double miss = px_per_mm_ * (e.at.x() * std::cos(angle) + e.at.y() * std::sin(angle) - s.reach);
        Row row = slope(b, angle, s) * -px_per_mm_;
        n.noalias() += e.weight * row * row.transpose();
        r -= e.weight * miss * row;
        chi2 += e.weight * miss * miss, sum += e.weight;
      }
      const double noise = std::max(kEdgeNoise_px, std::sqrt(chi2 / std::max(sum, 1e-9)));
      n /= noise * noise * kNeighbourRays, r /= noise * noise * kNeighbourRays;
      add_priors(b, free, n, r);
      n.diagonal().array() += 1e-9 * n.diagonal().maxCoeff();
      const Square covariance = n.inverse();
      const Row x = covariance * r;
      if (!x.allFinite()) return void(b.u_bulge_mm = 0);
      b.u_bulge_mm = free ? std::sqrt(covariance(kBulge, kBulge)) : 0;
      const double limit = 0.05 * b.wall.radius_mm;
      b.wall.center += x.head<2>().cwiseMax(-limit).cwiseMin(limit);
      b.wall.radius_mm += std::clamp(x[kR], -limit, limit);
      b.wall.top_mm = std::clamp(b.wall.top_mm + std::clamp(x[kHigh], -1.0, 1.0), b.wall.foot_mm,
                                 0.8 * camera_.height_mm);
      b.wall.oval += Eigen::Vector2d(x[kCos], x[kSin]).cwiseMax(-limit).cwiseMin(limit);
      b.bulge_mm += std::clamp(x[kBulge], -limit, limit);
    }
  }

  // By the envelope theorem, of the support at its own height.
  Row slope(const BulgedWall& b, double angle, const BulgedOutline::Support& s) const {
    const double scale = camera_.scale_at(s.z);
    Row row;
    row << scale * std::cos(angle), scale * std::sin(angle), scale, 0, scale * std::cos(2 * angle),
        scale * std::sin(2 * angle), -scale * s.t * s.t;
    BulgedWall higher = b;
    // For the difference that the slope by height is: small against a height, far above rounding.
    constexpr double step_mm = 0.01;
    higher.wall.top_mm += step_mm;
    row[kHigh] = (BulgedOutline(camera_, higher).support(angle).reach - s.reach) / step_mm;
    return row;
  }

  void add_priors(const BulgedWall& b, bool free, Square& n, Row& r) const {
    const WallShape& shape = straight_.shape;
    const auto hold = [&](int k) { n.row(k).setZero(), n.col(k).setZero(), n(k, k) = 1, r(k) = 0; };
    const auto prior = [&](int k, double off, double u) { n(k, k) += 1 / (u * u), r(k) -= off / (u * u); };
    if (shape.u_top_mm > 0)
      prior(kHigh, b.wall.top_mm - shape.top_mm, shape.u_top_mm);
    else
      hold(kHigh);
    for (const int k : {kCos, kSin})
      if (shape.oval)
        prior(k, b.wall.oval[k - kCos], kOval_ratio * b.wall.radius_mm);
      else
        hold(k);
    if (free)
      prior(kBulge, b.bulge_mm, kBulge_ratio * b.wall.radius_mm);
    else
      hold(kBulge);
  }

  double chi2_of(const BulgedWall& b) const {
    const BulgedOutline outline(camera_, b);
    double chi2 = 0;
    for (std::size_t i = 0; i < directions_.size(); ++i) {
      const RayEdge& e = *straight_.chosen[i].edge;
      const double miss = px_per_mm_ * outline.beyond(e.at, outline.normal_at(e.at, directions_[i]));
      chi2 += e.weight * miss * miss;
    }
    return chi2;
  }

  double noise_px(const BulgedWall& b) const {
    double sum = 0;
    for (const ChosenEdge& c : straight_.chosen) sum += c.edge->weight;
    return std::max(kEdgeNoise_px, std::sqrt(chi2_of(b) / std::max(sum, 1e-9)));
  }

  double cost(const BulgedWall& b, double noise) const {
    const WallShape& shape = straight_.shape;
    double sum = chi2_of(b) / (noise * noise * kNeighbourRays) +
                 std::pow(b.bulge_mm / (kBulge_ratio * b.wall.radius_mm), 2);
    if (shape.u_top_mm > 0) sum += std::pow((b.wall.top_mm - shape.top_mm) / shape.u_top_mm, 2);
    if (shape.oval) sum += b.wall.oval.squaredNorm() / std::pow(kOval_ratio * b.wall.radius_mm, 2);
    return sum;
  }

  double px_per_mm_;
  const CameraPlace& camera_;
  const WallFit& straight_;
  std::vector<double> directions_;  // of the chosen edges' normals on the straight wall's outline
};

}  // namespace

std::optional<BulgedWall> fit_bulged(const RayEdges& rays, const CameraPlace& camera,
                                     const WallFit& straight) {
  if (straight.chosen.size() < 24 || straight.shape.hole ||
      std::max(straight.shape.top_mm, straight.wall.top_mm) < kLeastWall_mm)
    return {};
  return Bulging(rays, camera, straight).run();
}

std::optional<BulgedWall> rather_bulged(const RayEdges& rays, const CameraPlace& camera,
                                        const WallFit& straight) {
  const auto bulged = fit_bulged(rays, camera, straight);
  if (!bulged || bulged->better_chi2 < kClearly_chi2) return {};
  return bulged;
}

WallFit as_if_straight(const BulgedWall& bulged, const CameraPlace& camera, const WallFit& straight,
                       double px_per_mm, std::vector<RayEdge>& moved) {
  WallFit fit = straight;
  BulgedWall plain = bulged;
  plain.bulge_mm = 0;
  const BulgedOutline outline(camera, bulged), of_plain(camera, plain);
  const SeenOutline was(camera, straight.wall);
  moved.clear(), moved.reserve(fit.chosen.size());
  double chi2 = 0;
  for (ChosenEdge& c : fit.chosen) {
    const Eigen::Vector2d near = was.nearest(c.edge->at).normal;
    const double angle = outline.normal_at(c.edge->at, std::atan2(near.y(), near.x()));
    const double out_mm = of_plain.support(angle).reach - outline.support(angle).reach;
    c.miss_px = px_per_mm * outline.beyond(c.edge->at, angle);
    chi2 += c.miss_px * c.miss_px;
    moved.push_back(*c.edge);
    moved.back().at += out_mm * Eigen::Vector2d(std::cos(angle), std::sin(angle));
    c.edge = &moved.back();
  }
  fit.rms_px = std::sqrt(chi2 / static_cast<double>(std::max<std::size_t>(1, fit.chosen.size())));
  fit.wall = bulged.wall;
  const Eigen::Vector2d oval = kDoubt_ratio * (bulged.wall.oval - straight.wall.oval);
  fit.u_radius_mm =
      std::hypot(fit.u_radius_mm, kDoubt_ratio * (bulged.wall.radius_mm - straight.wall.radius_mm));
  fit.second_harmonic_mm2 += oval * oval.transpose();
  if (straight.u_top_mm > 0)
    fit.u_top_mm = std::hypot(fit.u_top_mm, kDoubt_ratio * (bulged.wall.top_mm - straight.wall.top_mm));
  return fit;
}

std::vector<PixelPoint> outline_of(const BulgedWall& bulged, const CameraPlace& camera,
                                   const MeasuringPlane& board) {
  return pixels_of(BulgedOutline(camera, bulged), board);
}

}  // namespace rondure
