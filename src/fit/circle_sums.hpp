// One pass over the points: everything that a Newton step of the geometric circle fit needs.
//
// The circle is written from a point of itself (the anchor): curvature k = 1/R, turn a about the anchor,
// shift t along the outward normal there. These three stay regular from the full circle to the straight line.
// With r = (p, q) the unit vector from the centre to a point in the frame (normal, tangent), v = 1 - p, d the
// distance from the centre and f = d - R the residual (derived):
//   f_t = -p            f_a = R q                              f_k = R^2 v
//   f_tt = q^2/d        f_ta = R p q/d                         f_tk = R^2 q^2/d
//   f_aa = -R p (v + e - e v)   f_ak = -R^2 q (v + e - e v)    f_kk = -R^3 (v^2 + e q^2),   e = f/d
#pragma once
#include <Eigen/Core>
#include <span>

#include "rondure/core/geometry.hpp"

namespace rondure {

struct AnchoredCircle {
  Eigen::Vector2d reference{0, 0};  // subtracted from the points first: keeps the digits of far-off data
  Eigen::Vector2d anchor{0, 0};     // relative to the reference
  Eigen::Vector2d normal{1, 0};     // outward at the anchor, unit length
  double radius_mm = 0;             // > 0
  Eigen::Vector2d center() const { return anchor - radius_mm * normal; }  // relative to the reference
};

struct CircleSums {
  double weight = 0, chi2 = 0, ssq = 0;  // ssq without weights
  Eigen::Vector3d gradient;              // of chi2 / 2 in (t, a, k)
  Eigen::Matrix3d hessian;               // of chi2 / 2, exact
  Eigen::Matrix3d normal_matrix;         // Gauss-Newton part alone
};

// `weights` empty = all 1. `shallow`: the formulas that keep their digits when the radius is much larger than
// the extent of the points.
CircleSums circle_sums(std::span<const PartPoint> points, std::span<const double> weights,
                       const AnchoredCircle& circle, bool shallow);

}  // namespace rondure
