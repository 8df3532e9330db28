#include "ellipse_start.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <cmath>

#include "rondure/core/dense_solve.hpp"

namespace rondure {
namespace {

using Vector6 = Eigen::Matrix<double, 6, 1>;

// Conic in centred, scaled coordinates -> ellipse; nothing when it is none.
std::optional<RegularEllipse> from_conic(const Vector6& q, const PointCloud& cloud) {
  Eigen::Matrix2d form;
  form << q[0], q[1] / 2, q[1] / 2, q[2];
  const double det = form.determinant();
  if (!(det > 0)) return {};
  const Eigen::Vector2d center = -0.5 * form.inverse() * Eigen::Vector2d(q[3], q[4]);
  const double level = -(q[5] + 0.5 * (q[3] * center.x() + q[4] * center.y()));
  const SymmetricEigen eigen = symmetric_eigen(form / level);
  const Eigen::Vector2d l = eigen.values;  // ascending: 1/major^2, 1/minor^2
  if (!(l[0] > 0) || !l.allFinite()) return {};
  const double a = 1 / std::sqrt(l[0]), b = 1 / std::sqrt(l[1]);
  const Eigen::Vector2d axis = eigen.vectors.col(0);
  RegularEllipse e;
  e.reference = cloud.reference;
  const double k = cloud.scale_mm, cos2 = axis.x() * axis.x() - axis.y() * axis.y(),
               sin2 = 2 * axis.x() * axis.y();
  e.parameters << cloud.mean + k * center, k * (a + b) / 2, k * (a - b) / 2 * cos2, k * (a - b) / 2 * sin2;
  if (!e.parameters.allFinite() || !(e.semi_minor() > 0)) return {};
  return e;
}

}  // namespace

std::optional<RegularEllipse> direct_ellipse(std::span<const PartPoint> points,
                                             std::span<const double> weights, const PointCloud& cloud,
                                             std::size_t step) {
  Eigen::Matrix<double, 6, 6> s = Eigen::Matrix<double, 6, 6>::Zero();
  const double k = 1 / cloud.scale_mm;
  double total = 0;
  for (std::size_t i = 0; i < points.size(); i += step) {
    const double x = k * (points[i].x_mm - cloud.reference.x() - cloud.mean.x());
    const double y = k * (points[i].y_mm - cloud.reference.y() - cloud.mean.y());
    const double w = weights.empty() ? 1 : weights[i];
    const double v[6] = {x * x, x * y, y * y, x, y, 1};
    total += w;
    for (int a = 0; a < 6; ++a)
      for (int b = a; b < 6; ++b) s(a, b) += w * v[a] * v[b];
  }
  for (int a = 0; a < 6; ++a)
    for (int b = 0; b < a; ++b) s(a, b) = s(b, a);
  s /= total;
  const Eigen::Matrix3d linear = s.bottomRightCorner<3, 3>();
  const Eigen::Matrix3d back = -PositiveSolver(linear).solve(Eigen::MatrixXd(s.bottomLeftCorner<3, 3>()));
  Eigen::Matrix3d r = s.topLeftCorner<3, 3>() + s.topRightCorner<3, 3>() * back;
  r = 0.5 * (r + r.transpose()).eval();
  r.diagonal().array() += 1e-14 * r.trace();  // points on an exact conic
  // largest root of C w = mu R w, symmetric in the Cholesky frame of R
  Eigen::Matrix3d c = Eigen::Matrix3d::Zero();
  c(0, 2) = c(2, 0) = 2, c(1, 1) = -1;
  const Eigen::LLT<Eigen::Matrix3d> llt(r);
  if (llt.info() != Eigen::Success || !r.allFinite()) return {};
  const Eigen::Matrix3d inverse = llt.matrixL().solve(Eigen::Matrix3d::Identity());
  const SymmetricEigen eigen = symmetric_eigen(inverse * c * inverse.transpose());
  const Eigen::Vector3d quadratic = inverse.transpose() * eigen.vectors.col(2);
  Vector6 conic;
  conic << quadratic, back * quadratic;
  return from_conic(conic, cloud);
}

std::vector<RegularEllipse> further_ellipses(const PointCloud& cloud, const Eigen::Vector2d& circle_center,
                                             double circle_radius_mm) {
  std::vector<RegularEllipse> starts;
  const auto add = [&](const Eigen::Vector2d& center, double a, double b, double angle) {
    RegularEllipse e;
    e.reference = cloud.reference;
    e.parameters << center, (a + b) / 2, (a - b) / 2 * std::cos(2 * angle), (a - b) / 2 * std::sin(2 * angle);
    starts.push_back(e);
  };
  const double k = cloud.scale_mm, main = std::atan2(cloud.long_axis.y(), cloud.long_axis.x());
  if (circle_radius_mm > 0 && circle_radius_mm < 100 * k)
    add(circle_center, circle_radius_mm, circle_radius_mm, 0);
  if (circle_radius_mm > 0 && circle_radius_mm < 50 * k)
    for (int i = 0; i < 4; ++i)
      for (const double f : {1e-3, 0.1, 0.5})
        add(circle_center, circle_radius_mm * (1 + f), circle_radius_mm * (1 - f), main + i * kPi / 4);
  for (int i = 0; i < 6; ++i)
    for (const auto& [a, b] : {std::pair{1.6, 0.4}, {1.4, 1.0}, {3.0, 1.0}})
      add(cloud.mean, a * k, b * k, main + i * kPi / 6);
  return starts;
}

}  // namespace rondure
