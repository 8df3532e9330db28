// Two exact answers to a file of readings, to compare the program's intervals with; both in units of the radius.
//
// kind_known: least squares that knows the kind of the part and its size of form (Gaussian columns of its orders), and
// the noise where it is told (else Student's t with the freedom that is left).
//
// kind_open: Bayes' rule, exact on a grid, for who knows neither kind, size of form nor noise: round, order 2, order 3,
// order 5 or the spectrum, each as likely; size even in its logarithm from 1e-5 to 1e-2 of R, noise from 3e-6 to 1e-2.
// No program that has not seen the part can be expected to do better over all kinds together.
#pragma once
#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/fit/distributions.hpp"

namespace rondure::exact {

struct Kind {
  const char* name;
  int order;  // 0 round, -1 spectrum to 30 falling as 1/k, -2 orders 2 to 8 alike (peak_to_valley: twice their rms size)
  double peak_to_valley;
  double of_spectrum = 1;  // its size over that of the table
};
inline constexpr double kSpectrumAt2 = 5e-4;

// What the program believes in, and what a study draws besides.
inline constexpr std::array<Kind, 8> kBelieved{{{"round", 0, 0},
                                                {"oval 0.1 %", 2, 1e-3},
                                                {"oval 0.5 %", 2, 5e-3},
                                                {"3 lobes 0.05 %", 3, 5e-4},
                                                {"3 lobes 0.2 %", 3, 2e-3},
                                                {"5 lobes 0.05 %", 5, 5e-4},
                                                {"5 lobes 0.2 %", 5, 2e-3},
                                                {"spectrum", -1, 0}}};
template <std::size_t more>
constexpr std::array<Kind, kBelieved.size() + more> believed_and(const Kind (&others)[more]) {
  std::array<Kind, kBelieved.size() + more> all{};
  std::copy(kBelieved.begin(), kBelieved.end(), all.begin());
  std::copy(others, others + more, all.begin() + kBelieved.size());
  return all;
}

inline std::vector<int> orders_of(const Kind& kind) {
  std::vector<int> orders;
  if (kind.order > 0) orders = {kind.order};
  for (int k = 2; kind.order < 0 && k <= (kind.order == -1 ? 30 : 8); ++k) orders.push_back(k);
  return orders;
}
inline double rms_amplitude(const Kind& kind, int order) {  // sqrt(E(a^2 + b^2))
  return kind.order > 0     ? kind.peak_to_valley / 2
         : kind.order == -1 ? kind.of_spectrum * kSpectrumAt2 * 2 / order
                            : kind.peak_to_valley / 2 / std::sqrt(7.0);
}

struct HalfWidths {
  double radius = 0, ovality = 0;  // ovality: of diameters
};

inline Eigen::MatrixXd form_covariance(const Kind& kind, const std::vector<double>& at, bool without_oval) {
  const auto n = static_cast<Eigen::Index>(at.size());
  Eigen::MatrixXd cov = Eigen::MatrixXd::Zero(n, n);
  for (const int k : orders_of(kind)) {
    if (without_oval && k == 2) continue;
    const double v = std::pow(rms_amplitude(kind, k), 2) / 2;
    for (Eigen::Index i = 0; i < n; ++i)
      for (Eigen::Index j = 0; j < n; ++j)
        cov(i, j) += v * std::cos(k * (at[static_cast<std::size_t>(i)] - at[static_cast<std::size_t>(j)]));
  }
  return cov;
}

inline Eigen::MatrixXd columns(const std::vector<double>& at, bool oval) {
  Eigen::MatrixXd x(static_cast<Eigen::Index>(at.size()), oval ? 5 : 3);
  for (Eigen::Index i = 0; i < x.rows(); ++i) {
    const double t = at[static_cast<std::size_t>(i)];
    x.row(i).head(3) << 1, std::cos(t), std::sin(t);
    if (oval) x.row(i).tail(2) << std::cos(2 * t), std::sin(2 * t);
  }
  return x;
}

inline HalfWidths kind_known(const Kind& kind, const std::vector<double>& at, double sigma, bool told) {
  const auto n = static_cast<Eigen::Index>(at.size());
  const auto half = [&](bool oval) {
    const Eigen::MatrixXd x = columns(at, oval);
    const Eigen::MatrixXd cov =
        form_covariance(kind, at, oval) + sigma * sigma * Eigen::MatrixXd::Identity(n, n);
    const Eigen::MatrixXd v = (x.transpose() * cov.ldlt().solve(x)).inverse();
    const double fixed = oval ? 5 : 3 + (kind.order > 0 ? 2 : 0);
    const double dof = static_cast<double>(n) - fixed;
    const double factor = told ? kNormal95 : dof > 0 ? student_quantile_two_sided(0.05, dof) : 1e9;
    return factor * (oval ? 4 * std::sqrt((v(3, 3) + v(4, 4)) / 2) : std::sqrt(v(0, 0)));
  };
  return {half(false), at.size() > 5 ? half(true) : 0};
}

struct NormalTerm {
  double weight, mean, sd;  // of the terms: first in logarithms
};

inline double mixture_quantile(const std::vector<NormalTerm>& terms, double share) {
  double lo = 1e9, hi = -1e9;
  for (const auto& t : terms) lo = std::min(lo, t.mean - 8 * t.sd), hi = std::max(hi, t.mean + 8 * t.sd);
  for (int i = 0; i < 60; ++i) {
    const double x = (lo + hi) / 2;
    double below = 0;
    for (const auto& t : terms) below += t.weight * std::erfc((t.mean - x) / (t.sd * std::sqrt(2.0))) / 2;
    (below < share ? lo : hi) = x;
  }
  return (lo + hi) / 2;
}

// The 95 % interval of the mean radius less 1; `radial`: distances from the true middle over R, less 1;
// sigma over R, 0: not told.
inline Interval kind_open(const std::vector<double>& at, const std::vector<double>& radial,
                          double sigma_told) {
  constexpr Kind kKinds[] = {{"", 0, 0}, {"", 2, 1e-3}, {"", 3, 1e-3}, {"", 5, 1e-3}, {"", -1, 0}};
  const auto n = static_cast<Eigen::Index>(at.size());
  const Eigen::MatrixXd x = columns(at, false);
  const Eigen::Map<const Eigen::VectorXd> y(radial.data(), n);
  std::vector<double> sigmas, sizes;
  if (sigma_told > 0) sigmas = {sigma_told};
  for (double s = 3e-6; sigma_told <= 0 && s < 1.01e-2; s *= 1.4) sigmas.push_back(s);
  for (double a = 1e-5; a < 1.01e-2; a *= 1.6) sizes.push_back(a / 5e-4);
  std::vector<NormalTerm> terms;
  for (const Kind& kind : kKinds) {
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(form_covariance(kind, at, false));
    const Eigen::MatrixXd turned_x = eigen.eigenvectors().transpose() * x;
    const Eigen::VectorXd turned_y = eigen.eigenvectors().transpose() * y;
    const std::vector<double> round{0};
    const auto& of_kind = kind.order == 0 ? round : sizes;
    for (const double size : of_kind)
      for (const double s : sigmas) {
        const Eigen::VectorXd variance = (size * size * eigen.eigenvalues().cwiseMax(0.0)).array() + s * s;
        const Eigen::MatrixXd weighted = variance.cwiseInverse().asDiagonal() * turned_x;
        const Eigen::Matrix3d a = turned_x.transpose() * weighted;
        const Eigen::Matrix3d v = a.inverse();
        const Eigen::Vector3d b = v * (weighted.transpose() * turned_y);
        const Eigen::VectorXd rest = turned_y - turned_x * b;
        const double log_density = -0.5 * (variance.array().log().sum() + std::log(a.determinant()) +
                                           (rest.array().square() / variance.array()).sum());
        terms.push_back(
            {log_density - std::log(static_cast<double>(of_kind.size())), b(0), std::sqrt(v(0, 0))});
      }
  }
  double top = -1e300, sum = 0;
  for (const auto& t : terms) top = std::max(top, t.weight);
  for (auto& t : terms) sum += t.weight = std::exp(t.weight - top);
  std::erase_if(terms, [&](const NormalTerm& t) { return t.weight < 1e-6 * sum; });
  sum = 0;
  for (const auto& t : terms) sum += t.weight;
  for (auto& t : terms) t.weight /= sum;
  return {mixture_quantile(terms, 0.025), mixture_quantile(terms, 0.975)};
}

}  // namespace rondure::exact
