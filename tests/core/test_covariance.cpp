#include <Eigen/Dense>
#include <catch2/catch.hpp>

#include "rondure/core/covariance.hpp"

using namespace rondure;

namespace {
// Hilbert's matrix between parameters of sizes 1e-6 to 1e4; the third does not vary.
Eigen::MatrixXd spread_out() {
  const Eigen::VectorXd size = (Eigen::VectorXd(5) << 1e-6, 1, 0, 200, 1e4).finished();
  Eigen::MatrixXd c(5, 5);
  for (int i = 0; i < 5; ++i)
    for (int j = 0; j < 5; ++j) c(i, j) = size(i) * size(j) / (i + j + 1);
  return c;
}
}  // namespace

TEST_CASE("covariance: its steps make it again, whatever the sizes of the parameters", "[core][covariance]") {
  const Eigen::MatrixXd c = spread_out();
  Eigen::MatrixXd sum = Eigen::MatrixXd::Zero(5, 5);
  const auto steps = covariance_steps(c);
  CHECK(steps.size() == 4);
  for (const Eigen::VectorXd& s : steps) sum += s * s.transpose();
  for (int i = 0; i < 5; ++i)
    for (int j = 0; j < 5; ++j) CHECK(sum(i, j) == Approx(c(i, j)).epsilon(1e-9));
  CHECK(covariance_steps(c, 0.5).size() < 4);
}

TEST_CASE("covariance: its inverse is that of the parameters that vary", "[core][covariance]") {
  const Eigen::MatrixXd c = spread_out(), product = c * covariance_inverse(c);
  for (int i = 0; i < 5; ++i)
    for (int j = 0; j < 5; ++j) {
      const double size_ratio = i == 2 || j == 2 ? 1 : std::sqrt(c(i, i) / c(j, j));
      CHECK(product(i, j) == Approx(i == j && i != 2 ? 1 : 0).margin(1e-6 * size_ratio));
    }
  Eigen::Matrix2d line;  // one direction alone: (1, 2)
  line << 1, 2, 2, 4;
  const Eigen::MatrixXd inverse = covariance_inverse(line);
  CHECK(((line * inverse * line) - line).norm() < 1e-12);
}
