// Geometric (orthogonal-distance) least-squares circle; LSCI of ISO 12181-1, size (GG) of ISO 14405-1.
//
// Model: minimise sum_i w_i (|p_i - c| - R)^2, w_i = 1/sigma_i^2 (all 1 when no sigma is given).
// Start: hyper-accurate algebraic fit (Al-Sharadqah & Chernov, EJS 3 (2009) 886) on centred, scaled data; refined
// to a stationary point of the objective (gradient zero to rounding).
#pragma once
#include <Eigen/Core>
#include <span>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct CircleFit {
  Circle circle;
  int points = 0;           // points used
  double ssq = 0;           // sum of squared residuals, mm^2 (unweighted)
  double rms_mm = 0;        // sqrt(ssq / n)
  double chi2 = 0;          // weighted sum; equals ssq when no sigma was given
  // Covariance of (x, y, R) for unit weights sigma: multiply by sigma^2 (mm^2) when no sigma was given, else it
  // is already in mm^2.
  Eigen::Matrix3d cofactor = Eigen::Matrix3d::Zero();
  double sigma_mm = 0;      // sqrt(ssq / (n - 3)); 0 with three points
  int iterations = 0;
};

// Errors: kTooFewPoints (fewer than 3 distinct), kCollinear, kNotFinite.
Result<CircleFit> fit_circle(std::span<const PartPoint> points, std::span<const double> sigma_mm = {});

}  // namespace rondure
