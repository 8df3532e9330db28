// Eigenvalues with a few vectors' components, against the eigenvectors of a general-purpose library (Eigen).
#include <Eigen/Dense>
#include <algorithm>
#include <catch2/catch.hpp>
#include <random>

#include "fit/few_components.hpp"
#include "fit/form_sums.hpp"
using namespace rondure;

namespace {

Eigen::MatrixXd random_matrix(Eigen::Index rows, Eigen::Index columns, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal;
  Eigen::MatrixXd m(rows, columns);
  for (double& x : m.reshaped()) x = normal(random);
  return m;
}

// Values as Eigen's; (1 + A)^-1 between the vectors as solved densely, which holds whatever eigenvectors alike values have.
void check(const Eigen::MatrixXd& a, unsigned seed) {
  const FewRows vectors = random_matrix(4, a.rows(), seed);
  const Tridiagonal form = tridiagonal(a, vectors), found = diagonalised(form);
  Eigen::VectorXd values = found.diagonal;
  std::sort(values.begin(), values.end());
  const double size = std::max(a.norm(), 1e-300);
  CHECK((values - Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd>(a).eigenvalues()).norm() < 1e-13 * size);
  const Eigen::MatrixXd one = Eigen::MatrixXd::Identity(a.rows(), a.rows());
  const Eigen::Matrix4d dense = vectors * (one + a).ldlt().solve(vectors.transpose());
  const Eigen::Matrix4d by_parts =
      found.parts * (1 + found.diagonal.array()).inverse().matrix().asDiagonal() * found.parts.transpose();
  CHECK((by_parts - dense).norm() < 1e-12 * dense.norm() * std::max(1.0, size));
  // the sums by both forms
  const double log_det = (one + a).ldlt().vectorD().array().log().sum();
  for (const Tridiagonal* by : {&form, &found}) {
    FormSums sums;
    const double r = 1;
    form_sums(*by, std::span(&r, 1), std::span(&sums, 1));
    CHECK(sums.log_det == Approx(log_det).epsilon(1e-11).margin(1e-12));
    CHECK(sums.explained == Approx(dense(3, 3)).epsilon(1e-11).margin(1e-13));
  }
  CHECK((found.parts * found.parts.transpose() - vectors * vectors.transpose()).norm() <
        1e-12 * vectors.squaredNorm());
}

}  // namespace

TEST_CASE("few components: values and quadratic forms as with all eigenvectors", "[fit][form]") {
  for (const int m : {1, 2, 3, 10, 58, 70}) {
    const Eigen::MatrixXd b = random_matrix(3 * m, m, 7);
    CAPTURE(m);
    check(b.transpose() * b, 1);
    // columns of very unequal weight, as a family of one order has
    Eigen::VectorXd weight = Eigen::VectorXd::Constant(m, 3e-4);
    weight[0] = 1;
    check(weight.asDiagonal() * Eigen::MatrixXd(b.transpose() * b) * weight.asDiagonal(), 2);
    // fewer directions than columns
    const Eigen::MatrixXd low = b.topRows((m + 1) / 2);
    check(low.transpose() * low, 3);
  }
  check(Eigen::MatrixXd::Zero(6, 6), 4);
  check(Eigen::MatrixXd::Identity(6, 6) * 5, 5);
  check(Eigen::VectorXd::LinSpaced(9, 1, 9).asDiagonal().toDenseMatrix(), 6);
}

TEST_CASE("form sums: as term by term, however large the form, for any number at once", "[fit][form]") {
  for (const int m : {1, 3, 4, 13, 70}) {
    Tridiagonal form;
    form.diagonal = random_matrix(m, 1, 8).cwiseAbs() * 300;
    form.beside.setZero(m - 1);
    form.parts = random_matrix(4, m, 9);
    const std::vector<double> r = {1e-12, 1e-3, 1, 30, 1e8, 1e22, 0, 2, 3, 4, 5};
    std::vector<FormSums> sums(r.size());
    form_sums(form, r, sums);
    for (std::size_t k = 0; k < r.size(); ++k) {
      double log_det = 0, explained = 0;
      for (int j = 0; j < m; ++j)
        log_det += std::log1p(r[k] * form.diagonal[j]),
            explained += r[k] * form.parts(3, j) * form.parts(3, j) / (1 + r[k] * form.diagonal[j]);
      CAPTURE(m, r[k]);
      CHECK(sums[k].log_det == Approx(log_det).epsilon(1e-12).margin(1e-13));
      CHECK(sums[k].explained == Approx(explained).epsilon(1e-12).margin(1e-300));
    }
  }
}
