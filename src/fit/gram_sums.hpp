// Sums of squares and products of a matrix's columns: A'A, its lower triangle.
#pragma once
#include <Eigen/Core>

namespace rondure {

// The upper triangle is 0 or what it may be: not to be looked at. Four rows at a time where the processor can.
Eigen::MatrixXd squares_and_products(const Eigen::MatrixXd& columns);

}  // namespace rondure
