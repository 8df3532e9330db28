// Geometric (orthogonal-distance) least-squares circle; LSCI of ISO 12181-1, size (GG) of ISO 14405-1.
//
// Model: minimise sum_i w_i (|p_i - c| - R)^2, w_i = 1/sigma_i^2 (all 1 when no sigma is given). It is the
// maximum likelihood answer for independent Gaussian errors of the same size in x and y.
//
// Start:
// hyper-accurate algebraic fit (Al-Sharadqah & Chernov, EJS 3 (2009) 886) on centred, scaled data. Then
// Newton steps on the exact gradient, damped where needed (Levenberg, Marquardt), with the circle written by
// its curvature and a point of itself, which stays regular from the full circle to an arc that is nearly
// straight. It ends at a stationary point to rounding, not where the sum of squares stops changing (that is
// good to half the digits only).
//
// Units: mm in, mm out; any other unit works alike. Points may lie far from the origin: only the rounding of
// the input counts (1e6 R away: R good to 1e-10).
//
// Accuracy: kCircleFitAgreement of R, or 1e-6 of the standard
// deviation of R, whichever is larger.
//
// Bias of R: + sigma^2 / (2 R) (essential bias, same paper), below 1e-6
// R for real parts; not subtracted (essential_bias_mm).
//
// Breaks down: where the sagitta of the arc is not well above sigma the
// radius has no finite mean; look at the curvature interval (interpret/outline.hpp), not at R. Outliers:
// fit/robust_circle.hpp.
//
// Two minima: points that do not look like a circle at all (the outline of a 4:1
// ellipse) may have their least sum of squares on a huge circle that is no better than a straight line. When
// the curvature of that circle is not significant (F < 4 against the line) and there is a minimum among the
// points as well, the one among the points is the answer and the other one is given as `flat_minimum`.
//
// Cost:
// two or three passes over the points, about 3 ns a point each; 1 to 2 us for 100 points.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <span>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

inline constexpr double kCircleFitAgreement = 1e-9;  // relative, with the 50-digit answers of tests/data/fits

struct CircleMinimum {
  Circle circle;
  double ssq = 0;  // mm^2
};

struct CircleFit {
  Circle circle;
  int points = 0;     // points used
  double ssq = 0;     // sum of squared residuals, mm^2 (unweighted)
  double rms_mm = 0;  // sqrt(ssq / n)
  double chi2 = 0;    // weighted sum; equals ssq when no sigma was given
  // Covariance of (x, y, R) for unit weights sigma: multiply by sigma^2 (mm^2) when no sigma was given, else
  // it is already in mm^2.
  Eigen::Matrix3d cofactor = Eigen::Matrix3d::Zero();
  double sigma_mm = 0;  // sqrt(ssq / (n - 3)); 0 with three points
  int iterations = 0;
  // How much too large R is on average, sigma^2 / (2 R): not subtracted from `circle`, the least-squares
  // answer.
  double essential_bias_mm() const { return sigma_mm * sigma_mm / (2 * circle.radius_mm); }
  std::optional<CircleMinimum>
      flat_minimum;  // a circle with a smaller sum of squares that is no better than a line
};

// Errors: kTooFewPoints (fewer than 3 distinct), kCollinear (on a line to rounding, or no circle has a
// smaller sum of squares than the straight line), kNotFinite, kBadArgument (sigma not one for each point, or
// not positive).
Result<CircleFit> fit_circle(std::span<const PartPoint> points, std::span<const double> sigma_mm = {});

}  // namespace rondure
