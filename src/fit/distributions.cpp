#include "rondure/fit/distributions.hpp"

#include <cmath>
#include <numbers>
#include <unsupported/Eigen/SpecialFunctions>

namespace rondure {

double normal_quantile(double p) { return Eigen::numext::ndtri(p); }

double student_two_sided_p(double t, double dof) {
  const double t2 = t * t;
  if (t2 == 0) return 1;
  if (!std::isfinite(t2)) return 0;
  return Eigen::numext::betainc(dof / 2, 0.5, dof / (dof + t2));
}

double student_quantile_two_sided(double p, double dof) {
  if (dof > 1e7) return kNormal95 * (p == 0.05 ? 1 : Eigen::numext::ndtri(1 - p / 2) / kNormal95);
  double lo = 0, hi = 2;
  while (student_two_sided_p(hi, dof) > p && hi < 1e12) lo = hi, hi *= 2;
  for (int i = 0; i < 200 && hi - lo > 1e-13 * hi; ++i) {
    const double mid = (lo + hi) / 2;
    (student_two_sided_p(mid, dof) > p ? lo : hi) = mid;
  }
  return (lo + hi) / 2;
}

double chi2_upper_p(double chi2, double dof) {
  if (chi2 <= 0) return 1;
  return Eigen::numext::igammac(dof / 2, chi2 / 2);
}

double f_upper_p(double f, double dof_over, double dof_under) {
  if (f <= 0) return 1;
  if (!std::isfinite(f)) return 0;
  return Eigen::numext::betainc(dof_under / 2, dof_over / 2, dof_under / (dof_under + dof_over * f));
}

}  // namespace rondure
