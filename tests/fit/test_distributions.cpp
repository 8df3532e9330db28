// Sampling distributions against published tables.
#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/fit/distributions.hpp"

using namespace rondure;

TEST_CASE("distributions: critical values of the handbook's tables", "[fit][distributions]") {
  // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7 (tables of t, F, chi-squared), from memory.
  CHECK(student_quantile_two_sided(0.05, 1) == Approx(12.706).margin(5e-4));
  CHECK(student_quantile_two_sided(0.05, 10) == Approx(2.228).margin(5e-4));
  CHECK(student_quantile_two_sided(0.05, 100) == Approx(1.984).margin(5e-4));
  CHECK(f_upper_p(4.103, 2, 10) == Approx(0.05).margin(2e-5));
  CHECK(f_upper_p(2.711, 5, 20) == Approx(0.05).margin(2e-5));
  // 5 % points of the chi-squared table (from memory; the same in every handbook)
  CHECK(chi2_upper_p(3.841, 1) == Approx(0.05).epsilon(1e-3));
  CHECK(chi2_upper_p(5.991, 2) == Approx(0.05).epsilon(1e-3));
  CHECK(chi2_upper_p(7.815, 3) == Approx(0.05).epsilon(1e-3));
  CHECK(chi2_upper_p(18.307, 10) == Approx(0.05).epsilon(1e-3));
  CHECK(chi2_upper_p(0, 3) == 1);
  CHECK(chi2_upper_p(11.070, 5) == Approx(0.05).margin(2e-5));
  CHECK(chi2_upper_p(9.210, 2) == Approx(0.01).margin(1e-5));
  CHECK(normal_quantile(0.975) == Approx(1.959963984540054).epsilon(1e-9));
}

TEST_CASE("distributions: closed forms", "[fit][distributions]") {
  for (const double f : {0.1, 1.0, 5.0, 30.0})  // F(2, n): (1 + 2 f/n)^(-n/2)
    CHECK(f_upper_p(f, 2, 7) == Approx(std::pow(1 + 2 * f / 7, -3.5)).epsilon(1e-8));
  for (const double x : {0.5, 3.0, 20.0}) CHECK(chi2_upper_p(x, 2) == Approx(std::exp(-x / 2)).epsilon(1e-8));
  CHECK(student_two_sided_p(1, 1) == Approx(0.5).epsilon(1e-8));  // Cauchy
  CHECK(student_two_sided_p(0, 5) == 1);
  CHECK(student_quantile_two_sided(0.05, 1e9) == Approx(kNormal95).epsilon(1e-6));
}
