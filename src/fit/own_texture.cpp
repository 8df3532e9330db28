#include "own_texture.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>

#include "rondure/fit/distributions.hpp"
#include "rondure/fit/robust_circle.hpp"

namespace rondure {
namespace {

constexpr int kLastOrder = 30, kFree = 5;  // columns of the orders 0 to 2
constexpr int kPasses = 12, kFirstSteps = 6, kSteps = 3;

// Form and noise of the kept points.
class Texture {
public:
  Texture(const Profile& p, const Description& d) : p_(p) {
    const int n = p.size(), last = std::min(kLastOrder, n / 8);
    basis_.resize(n, 2 * last + 1);
    basis_.leftCols<3>() = p.basis.leftCols<3>();
    for (int k = 2; k <= last; ++k) {
      basis_.col(2 * k - 1) = (k * p.angle_rad.array()).cos();
      basis_.col(2 * k) = (k * p.angle_rad.array()).sin();
    }
    weight_ = p.relative_sigma.cwiseAbs2().cwiseInverse();
    s2_ = std::max(d.sigma_mm, p.least_sigma_mm) * std::max(d.sigma_mm, p.least_sigma_mm);
    tau2_.setConstant(basis_.cols(), 2 * s2_ / static_cast<double>(basis_.cols()));  // all of the scatter
  }

  // Amplitudes and noise of the kept points, then what these say of the outline.
  void learn(const std::vector<char>& kept, int steps) {
    gather(kept);
    for (int i = 0; i < steps; ++i) {
      solve();
      maximise();
    }
    solve();
  }

  Eigen::VectorXd residual() const { return p_.deviation_mm - basis_ * mean_; }
  const Eigen::VectorXd& coefficients() const { return mean_; }
  double sigma_mm() const { return std::sqrt(s2_); }
  // Of the kept points, -log of their density, what the form could be summed over.
  double length() const {
    const Eigen::LLT<Eigen::MatrixXd> llt(covariance_);
    const double log_det = -2 * llt.matrixLLT().diagonal().array().log().sum();
    return 0.5 * (count_ * std::log(s2_) + tau2_.tail(tau2_.size() - kFree).array().log().sum() + log_det +
                  (square_ - mean_.dot(right_)) / s2_);
  }
  double freedom() const { return std::max(1.0, count_ - used_); }

  // Residuals over their standard deviation: of a kept point as if it were left out.
  Eigen::VectorXd studentised(const std::vector<char>& kept) const {
    Eigen::VectorXd t = residual();
    const Eigen::MatrixXd open = basis_ * covariance_;
    for (Eigen::Index i = 0; i < t.size(); ++i) {
      const double leverage = open.row(i).dot(basis_.row(i)) * weight_[i] / s2_;
      const double spread = kept[static_cast<std::size_t>(i)] ? std::max(1e-9, 1 - leverage) : 1 + leverage;
      t[i] /= std::sqrt(s2_ / weight_[i] * spread);
    }
    return t;
  }

private:
  void gather(const std::vector<char>& kept) {
    std::vector<int> rows;
    for (std::size_t i = 0; i < kept.size(); ++i)
      if (kept[i]) rows.push_back(static_cast<int>(i));
    count_ = static_cast<double>(rows.size());
    const Eigen::MatrixXd b = basis_(rows, Eigen::all);
    const Eigen::VectorXd w = weight_(rows), y = p_.deviation_mm(rows);
    normal_ = b.transpose() * w.asDiagonal() * b;
    right_ = b.transpose() * w.cwiseProduct(y);
    square_ = y.dot(w.cwiseProduct(y));
  }

  void solve() {
    const Eigen::Index columns = basis_.cols();
    Eigen::MatrixXd precision = normal_ / s2_;
    for (Eigen::Index c = kFree; c < columns; ++c) precision(c, c) += 1 / tau2_[c];
    precision.diagonal().head<kFree>().array() *= 1 + 1e-12;
    covariance_ = precision.llt().solve(Eigen::MatrixXd::Identity(columns, columns));
    mean_ = covariance_ * right_ / s2_;
    used_ = kFree;
    for (Eigen::Index c = kFree; c < columns; ++c) used_ += std::max(0.0, 1 - covariance_(c, c) / tau2_[c]);
  }

  void maximise() {
    const int last = static_cast<int>(basis_.cols()) / 2;
    const auto power = [&](int k) {  // of order k, both columns
      return (std::pow(mean_[2 * k - 1], 2) + std::pow(mean_[2 * k], 2) + covariance_(2 * k - 1, 2 * k - 1) +
              covariance_(2 * k, 2 * k)) /
             2;
    };
    const double least = 1e-6 * s2_;
    for (int k = 3; k <= last; ++k) {
      double sum = 0;
      int orders = 0;
      for (int j = std::max(3, k - 1); j <= std::min(last, k + 1); ++j) sum += power(j), ++orders;
      tau2_[2 * k - 1] = tau2_[2 * k] = std::max(least, sum / orders);
    }
    const double rest = square_ - 2 * mean_.dot(right_) + mean_.dot(normal_ * mean_);
    s2_ = std::max(p_.least_sigma_mm * p_.least_sigma_mm, std::max(0.0, rest) / freedom());
  }

  const Profile& p_;
  Eigen::MatrixXd basis_, normal_, covariance_;
  Eigen::VectorXd weight_, right_, mean_, tau2_;
  double square_ = 0, s2_ = 0, count_ = 0, used_ = kFree;
};

void take_over(const Profile& p, const Texture& texture, Description& d) {
  d.residual = texture.residual();
  d.coefficients = texture.coefficients().head(d.columns);
  d.sigma_mm = texture.sigma_mm();
  d.length = texture.length() + defects_length(p, d);
}

}  // namespace

void classify_by_texture(const Profile& p, Description& d) {
  Texture texture(p, d);
  for (int pass = 0; pass < kPasses; ++pass) {
    texture.learn(d.kept, pass == 0 ? kFirstSteps : kSteps);
    const Eigen::VectorXd t = texture.studentised(d.kept);
    const double limit = student_quantile_two_sided(kFalseExclusion / p.size(), texture.freedom());
    std::vector<char> kept(d.kept.size());
    for (int i = 0; i < p.size(); ++i) kept[static_cast<std::size_t>(i)] = std::abs(t[i]) <= limit;
    if (kept == d.kept || std::count(kept.begin(), kept.end(), 1) < p.size() / 2) break;
    d.kept = std::move(kept);
  }
  take_over(p, texture, d);
}

void refit_with_texture(const Profile& p, Description& d) {
  Texture texture(p, d);
  texture.learn(d.kept, kFirstSteps);
  take_over(p, texture, d);
}

}  // namespace rondure
