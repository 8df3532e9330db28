#include "photo/board/lattice_map.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <Eigen/QR>
#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

using Vector9 = Eigen::Matrix<double, 9, 1>;
using Matrix9 = Eigen::Matrix<double, 9, 9>;

// By judgement; what comes of them is checked by tests/bench/study_board_covered.
constexpr double kCorner_px = 0.3;                     // standard deviation of a corner's place
constexpr double kPerspectiveSd = 0.3, kBendSd = 0.1;  // over the lattice; over half the picture
constexpr double kNearest = 0.15;                      // least depth of a corner, the mean's is 1
constexpr int kMapRounds = 15;                         // of Gauss-Newton at most; a resource, by judgement

}  // namespace

std::optional<LatticeMap> LatticeMap::through(const std::vector<Sighting>& corners, double width_px,
                                              double height_px) {
  const auto count = static_cast<Eigen::Index>(corners.size());
  if (count < 4) return {};
  LatticeMap map;
  map.middle_px_ = {(width_px - 1) / 2, (height_px - 1) / 2};
  map.half_px_ = std::hypot(width_px, height_px) / 2;
  for (const Sighting& c : corners) map.node_mean_ += c.node / static_cast<double>(count);
  double spread = 0;
  for (const Sighting& c : corners) spread += (c.node - map.node_mean_).squaredNorm();
  map.node_scale_ = std::sqrt(spread / static_cast<double>(count));
  Eigen::MatrixX3d nodes(count, 3);
  Eigen::MatrixX2d seen(count, 2);
  for (Eigen::Index i = 0; i < count; ++i) {
    const Sighting& c = corners[static_cast<std::size_t>(i)];
    nodes.row(i) << ((c.node - map.node_mean_) / map.node_scale_).transpose(), 1;
    seen.row(i) = ((c.at_px - map.middle_px_) / map.half_px_).transpose();
  }
  const Eigen::ColPivHouseholderQR<Eigen::MatrixX3d> affine(nodes);
  if (affine.rank() < 3) return {};
  const Eigen::Matrix<double, 3, 2> start = affine.solve(seen);
  Vector9 p;  // rows of h but its last entry, which is 1; bend
  p << start.col(0), start.col(1), 0, 0, 0;
  const double weight = std::pow(map.half_px_ / kCorner_px, 2);
  Vector9 prior = Vector9::Zero();
  prior.tail<3>() << std::pow(kPerspectiveSd, -2), std::pow(kPerspectiveSd, -2), std::pow(kBendSd, -2);
  double ssq = 0;
  for (int round = 0; round < kMapRounds; ++round) {
    Matrix9 n = prior.asDiagonal();
    Vector9 g = -prior.cwiseProduct(p);
    ssq = 0;
    for (Eigen::Index i = 0; i < count; ++i) {
      const Eigen::Vector3d node = nodes.row(i).transpose();
      const double depth = p(6) * node.x() + p(7) * node.y() + 1;
      if (depth < kNearest) return {};
      const Eigen::Vector2d at(p.head<3>().dot(node) / depth, p.segment<3>(3).dot(node) / depth);
      const Eigen::Vector2d q = seen.row(i).transpose();
      const double r2 = q.squaredNorm(), bent = 1 + p(8) * r2;
      if (bent < 0.3) return {};
      const Eigen::Vector2d miss = q / bent - at;
      Eigen::Matrix<double, 2, 9> j = Eigen::Matrix<double, 2, 9>::Zero();
      j.block<1, 3>(0, 0) = node.transpose() / depth;
      j.block<1, 3>(1, 3) = node.transpose() / depth;
      j.col(6) = -at * node.x() / depth, j.col(7) = -at * node.y() / depth;
      j.col(8) = q * (r2 / (bent * bent));
      n.noalias() += weight * j.transpose() * j;
      g.noalias() += weight * j.transpose() * miss;
      ssq += miss.squaredNorm();
    }
    const Vector9 step = n.ldlt().solve(g);
    if (!step.allFinite()) return {};
    p += step;
    if (step.norm() < 1e-7) break;
  }
  map.h_ << p.head<3>().transpose(), p.segment<3>(3).transpose(), p(6), p(7), 1;
  map.bend_ = p(8);
  if (!(std::abs(map.h_.determinant()) > 1e-12)) return {};
  const double side = map.step_px(map.node_mean_);
  if (!(side > 0)) return {};
  map.rms_squares_ =
      std::sqrt(ssq / std::max(1.0, 2.0 * static_cast<double>(count) - 9)) * map.half_px_ / side;
  return map;
}

Eigen::Vector2d LatticeMap::pixel(const Eigen::Vector2d& node) const {
  const Eigen::Vector2d scaled = (node - node_mean_) / node_scale_;
  const Eigen::Vector3d q = h_ * Eigen::Vector3d(scaled.x(), scaled.y(), 1);
  const Eigen::Vector2d at = q.head<2>() / q.z();
  // straight r = seen r / (1 + bend seen r^2), solved for the seen one
  const double root = 1 - 4 * bend_ * at.squaredNorm();
  return middle_px_ + half_px_ * at * (2 / (1 + std::sqrt(std::max(0.0, root))));
}

Eigen::Vector2d LatticeMap::straight(const Eigen::Vector2d& pixel) const {
  const Eigen::Vector2d q = (pixel - middle_px_) / half_px_;
  return q / (1 + bend_ * q.squaredNorm());
}

Eigen::Vector2d LatticeMap::node(const Eigen::Vector2d& pixel) const {
  const Eigen::Vector2d q = straight(pixel);
  const Eigen::Vector3d n = h_.inverse() * Eigen::Vector3d(q.x(), q.y(), 1);
  return node_mean_ + node_scale_ * n.head<2>() / n.z();
}

double LatticeMap::step_px(const Eigen::Vector2d& node) const {
  const Eigen::Vector2d here = pixel(node);
  return std::min((pixel(node + Eigen::Vector2d(1, 0)) - here).norm(),
                  (pixel(node + Eigen::Vector2d(0, 1)) - here).norm());
}

}  // namespace rondure
