// Crown arcs by fit_curve beside another fit of the same points: least squares of the distances to a circle (centre and
// radius free) by Eigen's LevenbergMarquardt (unsupported/Eigen/NonLinearOptimization, a port of MINPACK's lmder; Moré,
// Garbow and Hillstrom 1980, from memory).
#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <unsupported/Eigen/NonLinearOptimization>
#include <vector>

#include "rondure/profile/curve.hpp"

using namespace rondure;

namespace {

struct ToCircle {
  using Scalar = double;
  using InputType = Eigen::VectorXd;
  using ValueType = Eigen::VectorXd;
  using JacobianType = Eigen::MatrixXd;
  enum { InputsAtCompileTime = Eigen::Dynamic, ValuesAtCompileTime = Eigen::Dynamic };

  const std::vector<ProfilePointRZ>& points;
  int inputs() const { return 3; }
  int values() const { return static_cast<int>(points.size()); }
  int operator()(const Eigen::VectorXd& x, Eigen::VectorXd& out) const {
    for (int i = 0; i < values(); ++i)
      out[i] = ((points[i].vec() - x.head<2>()).norm() - x[2]) / points[i].sigma_mm;
    return 0;
  }
  int df(const Eigen::VectorXd& x, Eigen::MatrixXd& out) const {
    for (int i = 0; i < values(); ++i) {
      const Eigen::Vector2d way = (x.head<2>() - points[i].vec()).normalized();
      out.row(i) << way.x(), way.y(), -1;
      out.row(i) /= points[i].sigma_mm;
    }
    return 0;
  }
};

}  // namespace

TEST_CASE("crown arcs: the same radius, centre and misfit as a general least-squares library's",
          "[profile]") {
  std::mt19937 random(181);
  for (const double radius : {2.0, 12.94, 60.0})
    for (const double sigma : {3e-4, 3e-3}) {
      INFO("R " << radius << ", sigma " << sigma);
      std::normal_distribution<double> scatter(0, sigma);
      std::vector<ProfilePointRZ> points;
      const double half = std::asin(std::min(0.9, 3 / radius));
      for (int k = 0; k <= 180; ++k) {
        const double a = half * (k / 90.0 - 1),
                     r = radius + std::clamp(scatter(random), -3 * sigma, 3 * sigma);
        points.push_back({3 + r * std::sin(a), 6.2 - radius + r * std::cos(a), sigma});
      }
      const auto ours = fit_curve(points, 0, 180, true);
      REQUIRE(ours);
      Eigen::VectorXd x(3);
      x << 2.9, 6 - 0.9 * radius, 0.9 * radius;
      ToCircle problem{points};
      Eigen::LevenbergMarquardt<ToCircle> library(problem);
      library.parameters.xtol = library.parameters.ftol = 1e-14;
      library.parameters.maxfev = 2000;
      library.minimize(x);
      CHECK(std::abs(ours->radius_mm() - x[2]) < 1e-6 * radius);
      CHECK((ours->center() - x.head<2>()).norm() < 1e-6 * radius);
      CHECK(ours->chi2 == Approx(library.fnorm * library.fnorm).epsilon(1e-8));
    }
}
