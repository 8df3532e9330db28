// One pass over the points: everything that a Newton step of the orthogonal-distance ellipse fit needs.
//
// Ellipse P(u) = c + S u, |u| = 1, S = m I + p Z + q X (Z = diag(1, -1), X = antidiag(1, 1)): linear in all
// five parameters, regular at the circle. Foot of a point: h = point - P(u) normal to the tangent T = S w, w
// = u turned by 90 deg. With n the unit normal, t the unit tangent, d = n.h, P_k the derivative of P by
// parameter k and T_k that of T, the feet are eliminated (Schur complement; derived):
//   gradient_k = - d n.P_k
//   hessian_kl = P_k.P_l - (|T| t.P_k - d n.T_k)(|T| t.P_l - d n.T_l) / (|T|^2 + d n.S u)
// Gauss-Newton part: (n.P_k)(n.P_l).
#pragma once
#include <Eigen/Core>
#include <span>

#include "rondure/core/geometry.hpp"

namespace rondure {

using EllipseVector = Eigen::Matrix<double, 5, 1>;
using EllipseMatrix = Eigen::Matrix<double, 5, 5>;

// Parameters (x, y, m, p, q), the centre relative to `reference`.
struct RegularEllipse {
  Eigen::Vector2d reference{0, 0};
  EllipseVector parameters = EllipseVector::Zero();
  double half_difference() const { return std::hypot(parameters[3], parameters[4]); }
  double semi_major() const { return parameters[2] + half_difference(); }
  double semi_minor() const { return parameters[2] - half_difference(); }
  double major_axis_rad() const { return 0.5 * std::atan2(parameters[4], parameters[3]); }
};

struct EllipseSums {
  double chi2 = 0, ssq = 0;  // ssq without weights
  EllipseVector gradient;    // of chi2 / 2
  EllipseMatrix hessian;     // of chi2 / 2, exact
  EllipseMatrix normal_matrix;
};

// `weights` empty = all 1. The ellipse must have semi_minor > 0.
EllipseSums ellipse_sums(std::span<const PartPoint> points, std::span<const double> weights,
                         const RegularEllipse& ellipse);

// Parameter of the nearest point of (a cos, b sin), a >= b > 0, as (cos, sin); never fails. On the axes
// inside the evolute, where two feet are equally near, the one with positive sine.
Eigen::Vector2d nearest_on_ellipse(double a, double b, double x, double y);

}  // namespace rondure
