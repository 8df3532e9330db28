// A straight line or a circular arc through points of a profile, by orthogonal least squares.
//
// One form for both (Pratt 1987; Chernov, Circular and Linear Regression, 2010, ch. 3, from memory):
//   P = A (x^2 + y^2) + E (x cos t + y sin t) + D,  E = sqrt(1 + 4 A D),  distance = 2 P / (1 + sqrt(1 + 4 A P))
// about the middle of the points. A = half the signed curvature; 0 = a line, where nothing is singular. t is
// the direction of the normal, D the shift. Gauss-Newton with weights 1/sigma^2; residuals beyond 4 sigma are
// weighed down. Positive distance: on the side the normal points to. Curvature, unlike radius, is unbiased and
// normal also for shallow arcs: 1/R carries the uncertainty, and R gets a skew interval from it.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct ProfilePointRZ {
  double z_mm = 0, r_mm = 0;  // along the axis, from the axis
  double sigma_mm = 0;        // across the profile
  Eigen::Vector2d vec() const { return {z_mm, r_mm}; }
};

struct ProfileCurve {
  Eigen::Vector2d middle = Eigen::Vector2d::Zero();      // of the points, mm; the form is about it
  double half_curvature_per_mm = 0;                      // A
  double normal_rad = 0;                                 // t
  double shift_mm = 0;                                   // D
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();  // of A, t, D, from the points' sigmas alone
  bool is_arc = false;
  double chi2 = 0;  // of the points, weighed down ones capped
  int points = 0;

  double distance_mm(const Eigen::Vector2d& p) const;
  Eigen::Vector2d normal() const;  // at the middle
  // Nearest point of the curve.
  Eigen::Vector2d foot(const Eigen::Vector2d& p) const;
  double radius_mm() const { return 1 / (2 * std::abs(half_curvature_per_mm)); }
  Eigen::Vector2d center() const;  // of an arc
};

// points[from .. to], both included. Errors: kTooFewPoints (2 for a line, 3 for an arc).
Result<ProfileCurve> fit_curve(const std::vector<ProfilePointRZ>& points, int from, int to, bool arc);

// Where two neighbours meet, nearest to `about`; absent where they do not meet near it (tangent, parallel).
std::optional<Eigen::Vector2d> meeting(const ProfileCurve& a, const ProfileCurve& b,
                                       const Eigen::Vector2d& about, double reach_mm);

}  // namespace rondure
