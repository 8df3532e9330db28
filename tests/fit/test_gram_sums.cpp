#include <Eigen/Dense>
#include <catch2/catch.hpp>

#include "../../src/fit/gram_sums.hpp"

using namespace rondure;

TEST_CASE("gram sums: the products of all columns, of any count of rows and columns", "[gram_sums]") {
  for (const int rows : {1, 3, 4, 100, 603})
    for (const int columns : {1, 2, 3, 4, 5, 7, 8, 13, 72}) {
      const Eigen::MatrixXd x = Eigen::MatrixXd::Random(rows, columns);
      const Eigen::MatrixXd got = squares_and_products(x).triangularView<Eigen::Lower>(),
                            plain = (x.transpose() * x).triangularView<Eigen::Lower>();
      CHECK((got - plain).cwiseAbs().maxCoeff() < 1e-12 * rows);
    }
}
