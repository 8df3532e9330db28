#include "photo/solid/wall_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

#include "rondure/core/dense_solve.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Limits of this fit were set looking at seeds 1 and 2 of tests/bench/solid_scenes; seeds 14, 16, 33 and 34, new when
// first looked at, check what comes of them (tests/data/studies/solid_scenes.txt).
// Of the score: an edge outside the outline, up to so much of the radius off, costs so much of what one on it earns:
// a ring within the part has the part's outline outside it. Below 1, since shadows and texture lie outside too.
constexpr double kOutsideCosts = 0.6, kOutsideReach_ratio = 0.12;
constexpr double kWrongSign = 0.25;  // weight of an edge of the other polarity
// Standard deviation of the weight of a miss in the score that fits are compared by; by judgement.
constexpr double kFinalScale_px = 0.7;
constexpr double kPriorCost = 0.005;  // of the score, at one standard deviation
// Of the robust steps, one after the other: where an edge's weight is halved; ever tighter, by judgement.
constexpr std::array kScales_px = {2.0, 1.4, 1.0, 0.8, 0.6, 0.5, 0.4};
// Of a stretch where a shadow joins: where an edge's weight is halved, in medians of the misses and at least; at most so many of
// the edges, softer than the others by so much. Set on scene 16 of seed 37 of tests/bench/solid_scenes (softer by 1.2 there).
constexpr double kSettleInMedians = 2, kLeastSettle_px = 0.1, kMostJoined = 0.3, kSofter_ratio = 1.1;
constexpr int kSettleRounds = 6;       // by judgement
constexpr double kSeenAt_ratio = 0.7;  // of the wall's height: where a ring found of it lies, most often

double polarity_weight(const RayEdge& e, Polarity polarity) {
  if (polarity == Polarity::kAny || e.dark_inside == (polarity == Polarity::kDarkInside)) return e.weight;
  return kWrongSign * e.weight;
}

class Fitting {
public:
  Fitting(const RayEdges& edges, const CameraPlace& camera, const WallShape& shape)
      : edges_(edges), camera_(camera), shape_(shape) {}

  double score(const RoundWall& wall, double scale_px, Polarity polarity, int every) const {
    const SeenOutline outline(camera_, wall);
    double on = 0, outside = 0;
    int rays = 0;
    const double scale = edges_.px_per_mm, reach_px = kOutsideReach_ratio * wall.radius_mm * scale;
    for (std::size_t k = 0; k < edges_.rays.size(); k += static_cast<std::size_t>(every)) {
      double best_on = 0, best_outside = 0;
      for (const RayEdge& e : edges_.rays[k]) {
        if (e.weight <= best_on && e.weight <= best_outside) continue;
        const double w = polarity_weight(e, polarity), d = scale * outline.distance_mm(e.at);
        if (d > 3 * scale_px) {
          if (d < reach_px) best_outside = std::max(best_outside, w);
        } else if (d > -3 * scale_px) {
          best_on = std::max(best_on, w * std::exp(-0.5 * d * d / (scale_px * scale_px)));
        }
      }
      on += best_on, outside += best_outside, ++rays;
    }
    return rays ? (on - kOutsideCosts * outside) / rays : 0;
  }

  struct Scored {
    RoundWall wall;
    double score = -1;
  };

  std::vector<Scored> coarse(const WallStart& start, Polarity polarity) const {
    const double step = std::max(0.03 * start.radius_mm, 2.5 / edges_.px_per_mm);
    const int half = std::max(2, static_cast<int>(std::lround(start.span_ratio * start.radius_mm / step)));
    const double scale_px = 0.7 * step * edges_.px_per_mm;
    const int every = std::max(1, static_cast<int>(edges_.rays.size()) / 90);
    std::vector<Scored> best;
    for (const double top : tops()) {
      // Of an untold height the ring was seen in the board's plane.
      const double nearer = untold() ? 1 - kSeenAt_ratio * top / camera_.height_mm : 1;
      const Eigen::Vector2d center = camera_.foot + nearer * (start.center - camera_.foot);
      for (int i = -half; i <= half; ++i)
        for (int j = -half; j <= half; ++j)
          for (int k = -half; k <= half; ++k) {
            const RoundWall wall =
                wall_of(center + step * Eigen::Vector2d(i, j), nearer * start.radius_mm + step * k, top);
            if (!(wall.radius_mm > 2 * step)) continue;
            keep(best, {wall, score(wall, scale_px, polarity, every) - radius_cost(wall.radius_mm)},
                 2 * step);
          }
    }
    return best;
  }

  Scored refine(Scored from, Polarity polarity) const {
    double step = 0.5 * std::max(0.03 * from.wall.radius_mm, 2.5 / edges_.px_per_mm);
    double rise = shape_.u_top_mm > 0 ? std::min(1.0, shape_.u_top_mm) : 0;
    for (int round = 0; round < 3; ++round, step *= 0.5, rise *= 0.5) {
      const double scale_px = std::max(1.0, 0.8 * step * edges_.px_per_mm);
      const RoundWall middle = from.wall;
      from.score = -1;
      for (int h = rise > 0 ? -1 : 0; h <= (rise > 0 ? 1 : 0); ++h)
        for (int i = -2; i <= 2; ++i)
          for (int j = -2; j <= 2; ++j)
            for (int k = -2; k <= 2; ++k) {
              const double top = std::max(middle.top_mm + h * rise, shape_.tied ? -1e9 : shape_.foot_mm);
              const RoundWall wall =
                  wall_of(middle.center + step * Eigen::Vector2d(i, j), middle.radius_mm + step * k, top);
              const double s =
                  score(wall, scale_px, polarity, 2) - prior_cost(top) - radius_cost(wall.radius_mm);
              if (s > from.score) from = {wall, s};
            }
    }
    return from;
  }

  // `outermost_px` > 0: of each ray the outermost sharp edge within so much of the outline.
  WallFit least_squares(RoundWall wall, Polarity polarity, double outermost_px) const {
    WallFit fit;
    fit.shape = shape_;
    for (const double scale_px : kScales_px) {
      choose(wall, polarity, 4 * scale_px + 1, outermost_px, fit.chosen);
      if (fit.chosen.size() < 24) return fit;
      step(wall, fit, scale_px, false);
    }
    choose(wall, polarity, 2.6, outermost_px, fit.chosen);
    leave_joined_shade_out(wall, fit.chosen);
    drop_far(fit.chosen);
    if (fit.chosen.size() < 24) return fit;
    for (int round = 0; round < 3; ++round) step(wall, fit, 0, round == 2);
    fit.wall = wall;
    finish(fit);
    return fit;
  }

  // From where it stands, the edges as they are.
  WallFit once_more(RoundWall wall) const {
    WallFit fit;
    fit.shape = shape_;
    choose(wall, Polarity::kAny, 4, 0, fit.chosen);
    for (const double scale_px : {1.0, 0.5, 0.3}) step(wall, fit, scale_px, false);
    choose(wall, Polarity::kAny, 4, 0, fit.chosen);
    drop_far(fit.chosen);
    if (fit.chosen.size() < 24) return fit.chosen.clear(), fit;
    for (int round = 0; round < 3; ++round) step(wall, fit, 0, round == 2);
    fit.wall = wall;
    finish(fit);
    return fit;
  }

  std::vector<ChosenEdge> on_outline(const RoundWall& wall, double reach_px, bool without_far) const {
    std::vector<ChosenEdge> chosen;
    choose(wall, Polarity::kAny, reach_px, 0, chosen);
    if (without_far) drop_far(chosen);
    return chosen;
  }

private:
  bool untold() const { return shape_.u_top_mm > 2; }
  std::vector<double> tops() const {
    if (!untold()) return {shape_.top_mm};
    return {0.5, 1.5, 3, 5, 8, 12};
  }

  RoundWall wall_of(const Eigen::Vector2d& center, double radius, double top) const {
    return {center, radius, shape_.tied ? shape_.foot_mm + top - shape_.top_mm : shape_.foot_mm, top,
            shape_.hole};
  }

  double radius_cost(double radius) const {
    if (!(shape_.radius_mm > 0)) return 0;
    const double z = (radius / shape_.radius_mm - 1) / kUKnownRadius_ratio;
    return kPriorCost * z * z;
  }

  double prior_cost(double top) const {
    if (!(shape_.u_top_mm > 0)) return 0;
    const double z = (top - shape_.top_mm) / shape_.u_top_mm;
    return kPriorCost * z * z;
  }

  static void keep(std::vector<Scored>& best, const Scored& s, double apart_mm) {
    for (Scored& b : best)
      if ((b.wall.center - s.wall.center).norm() + std::abs(b.wall.radius_mm - s.wall.radius_mm) < apart_mm) {
        if (s.score > b.score) b = s;
        return;
      }
    if (best.size() < 2)
      best.push_back(s);
    else {
      auto& worse = best[0].score < best[1].score ? best[0] : best[1];
      if (s.score > worse.score) worse = s;
    }
  }

  void choose(const RoundWall& wall, Polarity polarity, double reach_px, double outermost_px,
              std::vector<ChosenEdge>& chosen) const {
    const SeenOutline outline(camera_, wall);
    chosen.clear();
    for (std::size_t k = 0; k < edges_.rays.size(); ++k) {
      ChosenEdge best;
      double merit = 0;
      for (const RayEdge& e : edges_.rays[k]) {
        const double w = polarity_weight(e, polarity);
        if (w <= 0) continue;
        const double d = edges_.px_per_mm * outline.distance_mm(e.at);
        if (std::abs(d) > reach_px) continue;
        double value = w / (1 + d * d / (reach_px * reach_px / 9));
        if (outermost_px > 0 && w > 0.4 && d < outermost_px) value = 10 + d;
        if (value > merit) merit = value, best = {static_cast<int>(k), &e, d};
      }
      if (best.edge) chosen.push_back(best);
    }
  }

  // Where a shadow joins, a short stretch lies off and is softer than the rest: by the edges' own scatter it stands out and does
  // not bend the others. When what stands out is not softer, the wall is another (crowned, say), and all edges have a say.
  void leave_joined_shade_out(RoundWall& wall, std::vector<ChosenEdge>& chosen) const {
    if (chosen.size() < 24) return;
    RoundWall settled = wall;
    WallFit by_most;
    by_most.chosen = chosen;
    for (int round = 0; round < kSettleRounds; ++round)
      step(settled, by_most,
           std::max(kLeastSettle_px, kSettleInMedians * median(misses_px(settled, by_most.chosen))), false);
    misses_px(settled, by_most.chosen);
    const double limit = far_px(by_most.chosen);
    std::vector<double> near_blur, far_blur;
    for (const ChosenEdge& c : by_most.chosen)
      (std::abs(c.miss_px) > limit ? far_blur : near_blur).push_back(c.edge->blur_px);
    const auto all = static_cast<double>(chosen.size());
    if (far_blur.empty() || static_cast<double>(far_blur.size()) > kMostJoined * all) return;
    if (median(far_blur) < kSofter_ratio * median(near_blur)) return;
    wall = settled;
    std::erase_if(by_most.chosen, [&](const ChosenEdge& c) { return std::abs(c.miss_px) > limit; });
    chosen = std::move(by_most.chosen);
  }

  // Their sizes; signed in the edges.
  std::vector<double> misses_px(const RoundWall& wall, std::vector<ChosenEdge>& chosen) const {
    const SeenOutline outline(camera_, wall);
    std::vector<double> sizes;
    for (ChosenEdge& c : chosen) {
      c.miss_px = edges_.px_per_mm * outline.distance_mm(c.edge->at);
      sizes.push_back(std::abs(c.miss_px));
    }
    return sizes;
  }

  static double far_px(const std::vector<ChosenEdge>& chosen) {
    std::vector<double> misses;
    for (const ChosenEdge& c : chosen) misses.push_back(std::abs(c.miss_px));
    return std::max(0.3, 3 * 1.4826 * median(misses));
  }
  static void drop_far(std::vector<ChosenEdge>& chosen) {
    const double limit = far_px(chosen);
    std::erase_if(chosen, [&](const ChosenEdge& c) { return std::abs(c.miss_px) > limit; });
  }

  // Unknowns of a step.
  enum { kX, kY, kR, kHigh, kCos, kSin, kUnknowns };
  using Row = Eigen::Matrix<double, kUnknowns, 1>;
  using Square = Eigen::Matrix<double, kUnknowns, kUnknowns>;

  static void hold(Square& n, Row& r, int unknown) {
    n.row(unknown).setZero(), n.col(unknown).setZero();
    n(unknown, unknown) = 1, r(unknown) = 0;
  }

  // The priors of what is not told, or the unknown held.
  void add_priors(const RoundWall& wall, Square& n, Row& r) const {
    if (shape_.u_top_mm > 0) {
      const double p = 1 / (shape_.u_top_mm * shape_.u_top_mm);
      n(kHigh, kHigh) += p;
      r(kHigh) += p * (shape_.top_mm - wall.top_mm);
    } else {
      hold(n, r, kHigh);
    }
    if (shape_.radius_mm > 0) {
      const double p = std::pow(kUKnownRadius_ratio * shape_.radius_mm, -2);
      n(kR, kR) += p, r(kR) += p * (shape_.radius_mm - wall.radius_mm);
    }
    for (const int k : {kCos, kSin})
      if (shape_.oval) {
        const double p = std::pow(kOval_ratio * wall.radius_mm, -2);
        n(k, k) += p;
        r(k) -= p * wall.oval[k - kCos];
      } else {
        hold(n, r, k);
      }
  }

  // One Gauss-Newton step over centre, radius, top and oval; `scale_px` 0: plain least squares.
  void step(RoundWall& wall, WallFit& fit, double scale_px, bool last) const {
    const SeenOutline outline(camera_, wall);
    Square n = Square::Zero();
    Row r = Row::Zero();
    const double scale = edges_.px_per_mm;
    double chi2 = 0, sum = 0;
    for (const ChosenEdge& c : fit.chosen) {
      const OutlineDistance d = outline.nearest(c.edge->at);
      const double miss_px = scale * d.distance_mm;
      const double w = c.edge->weight * (scale_px > 0 ? 1 / (1 + std::pow(miss_px / scale_px, 2)) : 1.0);
      Row row;
      row << d.slope[kCenterX], d.slope[kCenterY], d.slope[kRadius],
          d.slope[kTop] + (shape_.tied ? d.slope[kFoot] : 0), d.slope[kOvalCosine], d.slope[kOvalSine];
      row *= scale;
      n.noalias() += w * row * row.transpose();
      r -= w * miss_px * row;
      chi2 += w * miss_px * miss_px, sum += w;
    }
    const double noise = std::max(kEdgeNoise_px, std::sqrt(chi2 / std::max(sum, 1e-9)));
    const double information = 1 / (noise * noise * kNeighbourRays);
    n *= information, r *= information;
    const Square of_edges = n;
    add_priors(wall, n, r);
    n.diagonal().array() += 1e-9 * n.diagonal().maxCoeff();
    const Square covariance = n.inverse();
    const Row x = covariance * r;
    if (!x.allFinite()) return;
    const double limit = 0.05 * wall.radius_mm;
    wall.center += x.head<2>().cwiseMax(-limit).cwiseMin(limit);
    wall.radius_mm += std::clamp(x[kR], -limit, limit);
    const Eigen::Vector2d oval = wall.oval + x.tail<2>().cwiseMax(-limit).cwiseMin(limit);
    const double top = wall.top_mm + std::clamp(x[kHigh], -1.0, 1.0);
    wall = wall_of(wall.center, wall.radius_mm,
                   std::clamp(top, shape_.tied ? -1e9 : shape_.foot_mm, 0.8 * camera_.height_mm));
    wall.oval = oval;
    if (last) keep_uncertainty(covariance, of_edges, fit);
  }

  void keep_uncertainty(const Square& covariance, const Square& of_edges, WallFit& fit) const {
    fit.u_top_mm = shape_.u_top_mm > 0 ? std::sqrt(covariance(kHigh, kHigh)) : 0;
    fit.u_radius_mm = std::sqrt(std::max(0.0, covariance(kR, kR) - 1 / of_edges(kR, kR)));
    if (!shape_.oval) return;
    const Eigen::Matrix2d own = of_edges.bottomRightCorner<2, 2>();
    const Eigen::Matrix2d more = covariance.bottomRightCorner<2, 2>() - Eigen::Matrix2d(own.inverse());
    const SymmetricEigen axes = symmetric_eigen(more);
    fit.second_harmonic_mm2 =
        axes.vectors * axes.values.cwiseMax(0.0).asDiagonal() * axes.vectors.transpose();
  }

  void finish(WallFit& fit) const {
    double chi2 = 0;
    for (const double miss : misses_px(fit.wall, fit.chosen)) chi2 += miss * miss;
    fit.rms_px = std::sqrt(chi2 / static_cast<double>(fit.chosen.size()));
    fit.cover = static_cast<double>(fit.chosen.size()) / static_cast<double>(edges_.rays.size());
    fit.score = score(fit.wall, kFinalScale_px, Polarity::kAny, 1);
  }

  const RayEdges& edges_;
  const CameraPlace& camera_;
  const WallShape shape_;
};

}  // namespace

WallFit fit_wall(const RayEdges& edges, const CameraPlace& camera, const std::vector<WallStart>& starts,
                 const WallShape& shape) {
  const Fitting fitting(edges, camera, shape);
  WallFit best;
  for (const Polarity polarity : {Polarity::kAny, Polarity::kDarkInside, Polarity::kBrightInside})
    for (const WallStart& start : starts)
      for (const auto& coarse : fitting.coarse(start, polarity)) {
        const auto refined = fitting.refine(coarse, polarity);
        for (const double outermost_px : {0.0, 3.5}) {
          WallFit fit = fitting.least_squares(refined.wall, polarity, outermost_px);
          if (fit.score > best.score) best = std::move(fit);
        }
      }
  return best;
}

double outline_score(const RayEdges& edges, const CameraPlace& camera, const RoundWall& wall, double scale_px,
                     int every) {
  return Fitting(edges, camera, {}).score(wall, scale_px, Polarity::kAny, every);
}

std::vector<ChosenEdge> edges_on_outline(const RayEdges& edges, const CameraPlace& camera,
                                         const RoundWall& wall, double reach_px, bool drop_far) {
  return Fitting(edges, camera, {}).on_outline(wall, reach_px, drop_far);
}

WallFit refit_wall(const RayEdges& placed, const CameraPlace& camera, const WallFit& from) {
  return Fitting(placed, camera, from.shape).once_more(from.wall);
}

}  // namespace rondure
