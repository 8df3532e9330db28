#include "photo/solid/inner_rings.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "photo/edge/shared_errors.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Limits of rings were set looking at seeds 1 and 2 of tests/bench/solid_scenes; where no reason stands,
// by judgement.
// Checked on seeds 14, 16, 33 and 34, new when first looked at (tests/data/studies/solid_scenes.txt).
// |ln| of light to light from which an edge counts whole (28 %): lower than an outline's, since rings lie within one
// material; the floor keeps the ratio finite (1 % of full scale), and noise out of the dark.
constexpr double kFullRingLogRatio = 0.25, kRingDarkFloor = 0.01;
constexpr double kSharpRingTo = 1.7, kSoftRingFrom = 2.6;  // in blurs of the camera
constexpr double kShiftStep_px = 0.5;                      // of a ring from one height to the next
// Votes for a radius: the step in which they are counted, and how far each is spread (standard deviation);
// by judgement.
constexpr double kRadiusStep_px = 0.25, kVoteWidth_px = 0.7;
// Standard deviation of an edge's place, at least: more than an outline's 0.07 (wall_fit.hpp), rings being fainter;
// by judgement.
constexpr double kRingEdgeNoise_px = 0.1;
// Limit of time: the votes are counted anew for each height.
constexpr int kMostHeights = 60;

struct Vote {
  int ray;
  const RayEdge* edge;
  double weight;
  bool used;
};

double weight_of(const RayEdge& e, double camera_blur_px) {
  const double ratio = std::abs(
      std::log((std::max(e.outside, 0.0) + kRingDarkFloor) / (std::max(e.inside, 0.0) + kRingDarkFloor)));
  const double sharp =
      std::clamp((kSoftRingFrom - e.blur_px / camera_blur_px) / (kSoftRingFrom - kSharpRingTo), 0.0, 1.0);
  return std::min(1.0, ratio / kFullRingLogRatio) * sharp;
}

class Rings {
public:
  Rings(double px_per_mm, const CameraPlace& camera, const Axis& axis)
      : px_per_mm_(px_per_mm), camera_(camera), axis_(axis) {
    const Eigen::Vector2d off = axis.at - camera.foot;
    offset_mm_ = off.norm();
    away_ = offset_mm_ > 1e-9 ? Eigen::Vector2d(off / offset_mm_) : Eigen::Vector2d(1, 0);
  }

  Rings(const RayEdges& edges, const CameraPlace& camera, const Axis& axis)
      : Rings(edges.px_per_mm, camera, axis) {
    rays_ = static_cast<double>(edges.rays.size());
    for (std::size_t k = 0; k < edges.rays.size(); ++k)
      for (const RayEdge& e : edges.rays[k])
        if (const double w = weight_of(e, edges.camera_blur_px); w > 0.1)
          votes_.push_back({static_cast<int>(k), &e, w, false});
  }

  std::vector<InnerRing> find(const RingSearch& search) {
    std::vector<InnerRing> rings;
    while (static_cast<int>(rings.size()) < search.most_rings) {
      const auto [z, r, support] = best(search);
      if (support < search.least_support) break;
      InnerRing ring;
      ring.center = axis_.at, ring.height_mm = z, ring.radius_mm = r, ring.support = support;
      const InnerRing voted = ring;
      const double span = search.most_height_mm - search.least_height_mm;
      bool sound = fit(ring, z, 0.5 * span);
      sound = sound && ring.height_mm > search.least_height_mm - 1 - 2 * ring.u_height_mm &&
              ring.height_mm < search.most_height_mm + 1 + 2 * ring.u_height_mm;
      // Its edges propose no second ring.
      for (Vote& v : votes_)
        if (std::abs(miss_px(sound ? ring : voted, *v.edge)) < 1.5) v.used = true;
      if (sound) rings.push_back(std::move(ring));
    }
    return rings;
  }

  // Robust least squares over centre (prior: the axis), radius and height (prior; u 0: held).
  bool fit(InnerRing& ring, double height_mm, double u_height_mm) const {
    for (const double scale_px : {2.0, 1.2, 0.8, 0.6, 0.5, 0.5}) {
      choose(ring, 3 * scale_px + 0.5);
      if (ring.edges.size() < 12) return false;
      step(ring, height_mm, u_height_mm, scale_px);
    }
    choose(ring, 2);
    std::vector<double> misses;
    for (const RingEdge& e : ring.edges) misses.push_back(std::abs(e.miss_px));
    const double limit = std::max(0.3, 3 * 1.4826 * median(misses));
    std::erase_if(ring.edges, [&](const RingEdge& e) { return std::abs(e.miss_px) > limit; });
    if (ring.edges.size() < 12) return false;
    for (int round = 0; round < 3; ++round) step(ring, height_mm, u_height_mm, 0);
    finish(ring);
    return true;
  }

  // Its edges as they are; centre and radius anew.
  void refit(InnerRing& ring) const {
    for (int round = 0; round < 4; ++round) step(ring, ring.height_mm, 0, 0);
    for (RingEdge& e : ring.edges) e.miss_px = miss_px(ring, *e.edge);
  }

private:
  double miss_px(const InnerRing& ring, const RayEdge& e) const {
    const double s = camera_.scale_at(ring.height_mm);
    const Eigen::Vector2d c = camera_.foot + s * (ring.center - camera_.foot);
    return px_per_mm_ * ((e.at - c).norm() - s * ring.radius_mm);
  }

  struct Best {
    double height, radius, support;
  };

  Best best(const RingSearch& search) const {
    const double span = search.most_height_mm - search.least_height_mm;
    const double shift_px = span * offset_mm_ / camera_.height_mm * px_per_mm_;
    const int heights =
        std::clamp(static_cast<int>(std::ceil(shift_px / kShiftStep_px)) + 1, 2, kMostHeights);
    const double step_mm = kRadiusStep_px / px_per_mm_;
    const int bins = static_cast<int>((search.most_radius_mm - search.least_radius_mm) / step_mm) + 1;
    if (bins < 3) return {0, 0, 0};
    Best best{0, 0, 0};
    std::vector<double> sum(static_cast<std::size_t>(bins));
    const int reach = static_cast<int>(std::ceil(2.5 * kVoteWidth_px / kRadiusStep_px));
    for (int h = 0; h < heights; ++h) {
      const double z = search.least_height_mm + span * h / (heights - 1), s = camera_.scale_at(z);
      const Eigen::Vector2d c = camera_.foot + s * (axis_.at - camera_.foot);
      std::fill(sum.begin(), sum.end(), 0.0);
      for (const Vote& v : votes_) {
        if (v.used) continue;
        const double r = (v.edge->at - c).norm() / s, at = (r - search.least_radius_mm) / step_mm;
        const int middle = static_cast<int>(std::lround(at));
        for (int b = std::max(0, middle - reach); b <= std::min(bins - 1, middle + reach); ++b) {
          const double d = (b - at) * kRadiusStep_px / kVoteWidth_px;
          sum[b] += v.weight * std::exp(-0.5 * d * d);
        }
      }
      for (int b = 0; b < bins; ++b)
        if (const double support = sum[b] / rays_; support > best.support)
          best = {z, search.least_radius_mm + b * step_mm, support};
    }
    return best;
  }

  void choose(InnerRing& ring, double reach_px) const {
    ring.edges.clear();
    int last = -1;
    double merit = 0;
    for (const Vote& v : votes_) {
      if (v.used) continue;
      const double d = miss_px(ring, *v.edge);
      if (std::abs(d) > reach_px) continue;
      const double value = v.weight / (1 + 9 * d * d / (reach_px * reach_px));
      if (v.ray != last) {
        ring.edges.push_back({v.ray, v.edge, v.weight, d});
        last = v.ray, merit = value;
      } else if (value > merit) {
        ring.edges.back() = {v.ray, v.edge, v.weight, d};
        merit = value;
      }
    }
  }

  void step(InnerRing& ring, double height_mm, double u_height_mm, double scale_px) const {
    Eigen::Matrix4d n = Eigen::Matrix4d::Zero();
    Eigen::Vector4d r = Eigen::Vector4d::Zero();
    const double s = camera_.scale_at(ring.height_mm), ds = s * s / camera_.height_mm, px = px_per_mm_;
    const Eigen::Vector2d c = camera_.foot + s * (ring.center - camera_.foot);
    double chi2 = 0, sum = 0;
    for (const RingEdge& e : ring.edges) {
      const Eigen::Vector2d d = e.edge->at - c, normal = d.normalized();
      const double miss = px * (d.norm() - s * ring.radius_mm);
      const double w = e.weight * (scale_px > 0 ? 1 / (1 + std::pow(miss / scale_px, 2)) : 1.0);
      const double by_height = -ds * (normal.dot(ring.center - camera_.foot) + ring.radius_mm);
      const Eigen::Vector4d row = px * Eigen::Vector4d(-s * normal.x(), -s * normal.y(), -s, by_height);
      n.noalias() += w * row * row.transpose();
      r -= w * miss * row;
      chi2 += w * miss * miss, sum += w;
    }
    const double noise = std::max(kRingEdgeNoise_px, std::sqrt(chi2 / std::max(sum, 1e-9)));
    const double information = 1 / (noise * noise * kNeighbours);
    n *= information, r *= information;
    if (u_height_mm > 0) ring.u_height_on_axis_mm = std::sqrt(n.bottomRightCorner<2, 2>().inverse()(1, 1));
    const double p = 1 / (axis_.u_mm * axis_.u_mm);
    n(0, 0) += p, n(1, 1) += p;
    r.head<2>() += p * (axis_.at - ring.center);
    if (u_height_mm > 0) {
      const double q = 1 / (u_height_mm * u_height_mm);
      n(3, 3) += q, r(3) += q * (height_mm - ring.height_mm);
    } else {
      n.row(3).setZero(), n.col(3).setZero();
      n(3, 3) = 1, r(3) = height_mm - ring.height_mm;
    }
    n.diagonal().array() += 1e-9 * n.diagonal().maxCoeff();
    const Eigen::Matrix4d covariance = n.inverse();
    const Eigen::Vector4d x = covariance * r;
    if (!x.allFinite()) return;
    const double limit = 0.1 * ring.radius_mm;
    ring.center += x.head<2>().cwiseMax(-limit).cwiseMin(limit);
    ring.radius_mm += std::clamp(x[2], -limit, limit);
    ring.height_mm = std::min(ring.height_mm + std::clamp(x[3], -2.0, 2.0), 0.8 * camera_.height_mm);
    ring.u_radius_mm = std::sqrt(covariance(2, 2));
    ring.u_height_mm = u_height_mm > 0 ? std::sqrt(covariance(3, 3)) : 0;
  }

  void finish(InnerRing& ring) const {
    const double s = camera_.scale_at(ring.height_mm);
    const Eigen::Vector2d c = camera_.foot + s * (ring.center - camera_.foot);
    double chi2 = 0, weight = 0;
    int near = 0, dark = 0;
    for (RingEdge& e : ring.edges) {
      e.miss_px = miss_px(ring, *e.edge);
      chi2 += e.miss_px * e.miss_px, weight += e.weight;
      near += (e.edge->at - c).dot(away_) < 0, dark += e.edge->dark_inside;
    }
    const double count = static_cast<double>(ring.edges.size());
    ring.rms_px = std::sqrt(chi2 / count);
    ring.support = weight / rays_;
    ring.cover = count / rays_;
    ring.near_cover = 2 * near / rays_, ring.far_cover = 2 * (count - near) / rays_;
    ring.dark_inside_share = dark / count;
  }

  const double px_per_mm_;
  double rays_ = 1;
  const CameraPlace& camera_;
  const Axis axis_;
  double offset_mm_ = 0;
  Eigen::Vector2d away_;
  std::vector<Vote> votes_;
};

}  // namespace

std::vector<InnerRing> find_inner_rings(const RayEdges& edges, const CameraPlace& camera, const Axis& axis,
                                        const RingSearch& search) {
  return Rings(edges, camera, axis).find(search);
}

InnerRing at_height(const InnerRing& ring, double px_per_mm, const CameraPlace& camera, const Axis& axis,
                    double height_mm) {
  InnerRing there = ring;
  // As seen it stays: the radius goes with the height.
  there.radius_mm *= (camera.height_mm - height_mm) / (camera.height_mm - ring.height_mm);
  there.height_mm = height_mm;
  Rings(px_per_mm, camera, axis).refit(there);
  return there;
}

}  // namespace rondure
