// Orthogonal-distance least-squares ellipse in a parameterisation that stays regular at the circle: centre,
// and the symmetric 2 x 2 matrix S with x = c + S u, |u| = 1 (mean radius and two components of the second
// harmonic).
#pragma once
#include <Eigen/Core>
#include <span>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

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

// Errors: kTooFewPoints (fewer than 5 distinct), kCollinear, kNotFinite, kNoEllipse.
Result<EllipseFit> fit_ellipse(std::span<const PartPoint> points, std::span<const double> sigma_mm = {});

}  // namespace rondure
