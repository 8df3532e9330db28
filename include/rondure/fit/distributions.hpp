// Tail probabilities and quantiles of the sampling distributions behind our intervals and tests (normal,
// Student t, chi-squared, Fisher F), on the incomplete beta and gamma functions of Eigen. Degrees of freedom
// need not be whole. Accuracy: 1e-10 relative for tails above 1e-12 (tests/fit/test_distributions.cpp,
// against published tables).
#pragma once
#include "rondure/core/normal_law.hpp"

namespace rondure {

double normal_quantile(double p);                               // p in (0, 1)
double student_two_sided_p(double t, double dof);               // P(|T| >= |t|), dof > 0
double student_quantile_two_sided(double p, double dof);        // t with P(|T| >= t) = p, p in (0, 1)
double chi2_upper_p(double chi2, double dof);                   // P(X >= chi2)
double f_upper_p(double f, double dof_over, double dof_under);  // P(F >= f)

}  // namespace rondure
