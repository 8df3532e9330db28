// Orthogonal-distance least-squares ellipse in a parameterisation that stays regular at the circle: centre,
// and the symmetric 2 x 2 matrix S with x = c + S u, |u| = 1 (mean radius and two components of the second
// harmonic).
//
// Model: minimise sum_i w_i d_i^2, d_i the true distance of point i from the nearest point of the ellipse,
// w_i = 1/sigma_i^2 (all 1 when no sigma is given). Maximum likelihood for independent Gaussian errors of the
// same size in x and y.
//
// Start: direct algebraic ellipse (Fitzgibbon, Pilu, Fisher, IEEE PAMI 21 (1999) 476)
// on centred, scaled data. Then Newton steps with the exact Hessian (the feet eliminated, derived in
// src/fit/ellipse_sums.hpp), halved where needed. Points whose residuals are above 2 % of the short axis are
// tried from some thirty more starts and the smallest sum of squares is taken.
//
// Units: mm in, mm out; angles rad. Works alike in any other unit.
//
// Accuracy: kEllipseFitAgreement of the long axis or 1e-6 of the standard deviation, whichever is larger (on
// arcs of a few degrees the parameters slide along a valley; the curve itself stays exact).
//
// Nearly round
// parts are the easy case: (m, p, q) have no singularity at a = b. The direction of the long axis has none of
// this: do not report it where p and q are not significant (fit/ovality.hpp).
//
// Breaks down: below 180 degrees of visible outline the ovality of a real part cannot be told (its standard
// deviation is in the cofactor: look there before using a or b). kNoEllipse where the sum of squares keeps
// falling as the ellipse grows (parabola, hyperbola, nearly straight edge). Outliers: exclude them first
// (fit/robust_circle.hpp).
//
// Cost: two to four passes over the points, 15 to 20 ns a point each; 7 us for 100
// points.
#pragma once
#include <Eigen/Core>
#include <span>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

inline constexpr double kEllipseFitAgreement =
    1e-9;  // relative, with the 50-digit answers of tests/data/fits

struct EllipseFit {
  Ellipse ellipse;
  int points = 0;
  double ssq = 0;  // sum of squared orthogonal distances, mm^2 (unweighted)
  double rms_mm = 0;
  double chi2 = 0;
  // Parameters (x, y, m, p, q): centre, m = (a + b)/2, p = (a - b)/2 cos 2t, q = (a - b)/2 sin 2t. Covariance
  // for unit sigma (as CircleFit::cofactor).
  Eigen::Matrix<double, 5, 1> parameters = Eigen::Matrix<double, 5, 1>::Zero();
  Eigen::Matrix<double, 5, 5> cofactor = Eigen::Matrix<double, 5, 5>::Zero();
  double sigma_mm = 0;  // sqrt(ssq / (n - 5)); 0 with five points
  int iterations = 0;
};

// Errors: kTooFewPoints (fewer than 5 distinct), kCollinear, kNotFinite, kNoEllipse, kBadArgument (sigma not
// one for each point, or not positive).
Result<EllipseFit> fit_ellipse(std::span<const PartPoint> points, std::span<const double> sigma_mm = {});

// Nearest point of the ellipse to `point`, and the distance with its sign (+ outside). At the centre and
// elsewhere on the long axis inside the evolute two or more points are equally near: one of them.
struct EllipseFoot {
  PartPoint foot;
  double distance_mm = 0;
};
EllipseFoot nearest_point(const Ellipse& ellipse, const PartPoint& point);

}  // namespace rondure
