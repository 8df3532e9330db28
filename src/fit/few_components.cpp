#include "few_components.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>

namespace rondure {
namespace {

// One implicit QR step on rows first..last of the tridiagonal matrix: a bulge beside the diagonal is chased down.
void qr_step(Eigen::VectorXd& d, Eigen::VectorXd& e, Eigen::Index first, Eigen::Index last, FewRows& parts) {
  const double half = (d[last - 1] - d[last]) / 2, corner = e[last - 1];
  const double root = half + std::copysign(std::hypot(half, corner), half);
  double along = d[first] - (d[last] - corner / root * corner),
         bulge = e[first];  // root: no less than |corner|
  for (Eigen::Index k = first; k < last && bulge != 0; ++k) {
    const double square =
        along * along + bulge * bulge;  // of a matrix scaled to 1: what underflows is nothing
    if (!(square > 0)) break;
    const double length = std::sqrt(square), c = along / length, s = bulge / length;
    if (k > first) e[k - 1] = length;
    const double gap = d[k + 1] - d[k], beside = e[k];
    const double moved = s * (s * gap + 2 * c * beside);
    d[k] += moved, d[k + 1] -= moved;
    e[k] = c * s * gap + (c * c - s * s) * beside;
    along = e[k];
    bulge = 0;
    if (k + 1 < last) bulge = s * e[k + 1], e[k + 1] *= c;
    const Eigen::Vector4d here = parts.col(k), next = parts.col(k + 1);
    parts.col(k) = c * here + s * next, parts.col(k + 1) = c * next - s * here;
  }
}

}  // namespace

Tridiagonal tridiagonal(const Eigen::MatrixXd& symmetric, const FewRows& vectors) {
  if (symmetric.rows() < 2) return {symmetric.diagonal(), Eigen::VectorXd(0), vectors};
  const Eigen::Tridiagonalization<Eigen::MatrixXd> form(symmetric);
  Eigen::MatrixXd turned = vectors.transpose();
  turned.applyOnTheLeft(form.matrixQ().adjoint());
  return {form.diagonal(), form.subDiagonal(), turned.transpose()};
}

Tridiagonal diagonalised(Tridiagonal form) {
  constexpr double kHair = std::numeric_limits<double>::epsilon();
  constexpr int kMostSteps = 40;  // of each eigenvalue; two or three are usual
  Eigen::VectorXd &d = form.diagonal, &e = form.beside;
  const auto m = d.size();
  if (m < 2) return form;
  const double scale = std::max(d.cwiseAbs().maxCoeff(), e.cwiseAbs().maxCoeff());
  if (!(scale > 0)) return form;
  d /= scale, e /= scale;
  Eigen::Index last = m - 1;
  for (int step = 0; last > 0 && step < kMostSteps * m; ++step) {
    for (Eigen::Index k = 0; k < last; ++k)
      if (std::abs(e[k]) <= kHair * (std::abs(d[k]) + std::abs(d[k + 1])) ||
          std::abs(e[k]) < std::numeric_limits<double>::min())
        e[k] = 0;
    while (last > 0 && e[last - 1] == 0) --last;
    if (last == 0) break;
    Eigen::Index first = last - 1;
    while (first > 0 && e[first - 1] != 0) --first;
    qr_step(d, e, first, last, form.parts);
  }
  d *= scale, e.setZero();
  return form;
}

}  // namespace rondure
