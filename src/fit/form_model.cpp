#include "rondure/fit/form_model.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <limits>

#include "noise_knowledge.hpp"
#include "rondure/core/normal_law.hpp"

namespace rondure {
namespace {

constexpr int kMaxFlat = 2 * kMostFreeOrders + 1;
using TargetRows = Eigen::Matrix<double, 3, Eigen::Dynamic>;

// One family on one alternative, in the directions where the family's form and the noise are independent.
struct Block {
  const FormFamily* family = nullptr;
  double log_prior = 0, yy = 0, dof = 0, variance_factor = 1;
  Eigen::VectorXd l, g2, g;
  TargetRows c;
  Eigen::Matrix3d unseen = Eigen::Matrix3d::Zero();  // sum of c_j c_j' over directions that no row shows
  Eigen::Vector3d mean_ls;
  Eigen::Matrix3d cofactor;
};

// What does not depend on the family: the projection on X.
struct Projection {
  Eigen::MatrixXd form;  // B~
  Eigen::VectorXd y;     // y~
  Eigen::MatrixXd gram;  // B~'B~, where it is not larger than the number of rows
  double yy = 0, log_det = 0, dof = 0;
  Eigen::Vector3d mean_ls = Eigen::Vector3d::Zero();
  Eigen::Matrix3d cofactor = Eigen::Matrix3d::Zero();
  TargetRows q;
};

Projection project(const FormRows& rows, std::span<const int> targets) {
  const auto p = rows.flat.cols(), m = rows.form.cols();
  assert(p <= kMaxFlat);
  using FlatMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, kMaxFlat, kMaxFlat>;
  // Normal equations of X with B and y, then one step of refinement on the residuals: the columns are harmonics of unit
  // size, and near-singular X (short arcs) is what the refinement is for.
  const FlatMatrix xtx = rows.flat.transpose() * rows.flat;
  const Eigen::LDLT<FlatMatrix> solver(xtx);
  Eigen::MatrixXd right(rows.y.size(), m + 1);
  right << rows.form, rows.y;
  Eigen::MatrixXd solution = solver.solve(rows.flat.transpose() * right);
  Eigen::MatrixXd residual = right - rows.flat * solution;
  const Eigen::MatrixXd correction = solver.solve(rows.flat.transpose() * residual);
  solution += correction;
  residual -= rows.flat * correction;

  Projection out;
  out.form = residual.leftCols(m);
  out.y = residual.col(m);
  if (m <= rows.y.size()) out.gram = out.form.transpose() * out.form;
  out.yy = out.y.squaredNorm();
  out.dof = static_cast<double>(rows.y.size() - p);
  out.log_det = solver.vectorD().array().abs().max(1e-300).log().sum();
  out.q.setZero(3, m);
  for (std::size_t t = 0; t < targets.size(); ++t) {
    const int row = targets[t];
    out.q.row(static_cast<Eigen::Index>(t)) = solution.row(row).head(m);
    out.mean_ls[static_cast<Eigen::Index>(t)] = solution(row, m);
    Eigen::VectorXd unit = Eigen::VectorXd::Zero(p);
    unit[row] = 1;
    const Eigen::VectorXd column = solver.solve(unit);
    for (std::size_t u = 0; u < targets.size(); ++u)
      out.cofactor(static_cast<Eigen::Index>(u), static_cast<Eigen::Index>(t)) = column[targets[u]];
  }
  return out;
}

// Directions of the family's form that the rows show: by the columns where they are fewer than the rows, else by the rows.
void diagonalise(const Projection& projection, const Eigen::VectorXd& root, Block& block) {
  constexpr double kUnseen = 1e-13;  // of the largest
  const auto m = root.size();
  const TargetRows q = projection.q.leftCols(m) * root.asDiagonal();
  if (projection.gram.cols() >= m) {
    const Eigen::MatrixXd scaled =
        root.asDiagonal() * projection.gram.topLeftCorner(m, m) * root.asDiagonal();
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(scaled);
    block.l = eigen.eigenvalues().cwiseMax(0);
    const Eigen::VectorXd h = projection.form.leftCols(m).transpose() * projection.y;
    block.g = eigen.eigenvectors().transpose() * root.cwiseProduct(h);
    block.c = q * eigen.eigenvectors();
    return;
  }
  const Eigen::MatrixXd scaled = projection.form.leftCols(m) * root.asDiagonal();
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(Eigen::MatrixXd(scaled * scaled.transpose()));
  const Eigen::VectorXd& l = eigen.eigenvalues();
  const auto n = l.size();
  Eigen::Index unseen = 0;
  while (unseen < n && !(l[unseen] > kUnseen * l[n - 1])) ++unseen;
  const Eigen::MatrixXd seen = eigen.eigenvectors().rightCols(n - unseen);
  block.l = l.tail(n - unseen);
  const Eigen::VectorXd size = block.l.cwiseSqrt();
  block.g = size.cwiseProduct(seen.transpose() * projection.y);
  block.c = q * scaled.transpose() * seen * size.cwiseInverse().asDiagonal();
  block.unseen = q * q.transpose() - block.c * block.c.transpose();
}

Block block_of(const Projection& projection, const FormFamily& family, double log_prior) {
  Block block;
  block.family = &family;
  block.log_prior = log_prior;
  block.yy = projection.yy;
  block.dof = projection.dof;
  block.mean_ls = projection.mean_ls;
  block.cofactor = projection.cofactor;
  const bool round = family.tau_ratio.size() == 1 && family.tau_ratio[0] == 0;
  const auto m = round ? 0 : std::min<Eigen::Index>(projection.form.cols(), std::ssize(family.share));
  if (m == 0) {
    block.l.resize(0), block.g.resize(0), block.g2.resize(0), block.c.resize(3, 0);
    return block;
  }
  diagonalise(projection, Eigen::Map<const Eigen::VectorXd>(family.share.data(), m).cwiseSqrt(), block);
  block.g2 = block.g.cwiseAbs2();
  return block;
}

// Noise and the form of higher orders together.
double scatter(const Block& block, double tau, double s) {
  const double rest = block.family->rest * tau;
  return rest > 0 ? std::hypot(s, rest) : s;
}

double node_log_weight(const Block& block, double log_mass, double tau, double noise) {
  const double s = scatter(block, tau, noise), rho2 = tau * tau / (s * s);
  double sum = block.yy, product = 1, log_product = 0;
  for (Eigen::Index j = 0; j < block.l.size(); ++j) {
    const double factor = 1 + rho2 * block.l[j];
    sum -= rho2 / factor * block.g2[j];
    product *= factor;
    if (product > 1e200) log_product += std::log(product), product = 1;
  }
  return log_mass - block.dof * std::log(s) - 0.5 * (log_product + std::log(product)) -
         std::max(sum, 0.0) / (2 * s * s);
}

struct Node {
  const Block* block;
  double tau, s, log_weight;
};

std::vector<Node> nodes_at(std::span<const Block> blocks, std::span<const double> sigmas,
                           const SigmaRange& range) {
  std::vector<Node> nodes;
  for (const Block& block : blocks)
    for (std::size_t i = 0; i < block.family->tau_ratio.size(); ++i) {
      const double tau = block.family->tau_ratio[i];
      const double log_mass = block.log_prior + std::log(block.family->tau_mass[i]);
      for (const double s : sigmas)
        nodes.push_back({&block, tau, s, node_log_weight(block, log_mass + range.log_density(s), tau, s)});
    }
  return nodes;
}

constexpr int kSigmaNodes = 24;

std::vector<double> log_grid(double lo, double hi) {
  std::vector<double> grid(kSigmaNodes);
  for (int i = 0; i < kSigmaNodes; ++i) grid[i] = lo * std::pow(hi / lo, i / (kSigmaNodes - 1.0));
  return grid;
}

// The grid of sigma, narrowed to where the weight is until its steps resolve the posterior of sigma, whose standard
// deviation in log sigma is about 1/sqrt(2 dof). Within a pass nodes lie within e^-9 of the best marginal weight, plus
// one each side.
std::vector<double> sigma_grid(std::span<const Block> blocks, const SigmaRange& range) {
  if (range.known()) return {range.lo};
  double lo = range.lo, hi = range.hi;
  const double fine = 1.5 / std::sqrt(2 * std::max(1.0, blocks.front().dof));
  for (int pass = 0; pass < 8; ++pass) {
    const std::vector<double> grid = log_grid(lo, hi);
    std::array<double, kSigmaNodes> marginal;
    for (int i = 0; i < kSigmaNodes; ++i) {
      const std::vector<Node> nodes = nodes_at(blocks, std::span(&grid[i], 1), range);
      double best = -std::numeric_limits<double>::infinity(), sum = 0;
      for (const Node& node : nodes) best = std::max(best, node.log_weight);
      for (const Node& node : nodes) sum += std::exp(node.log_weight - best);
      marginal[i] = best + std::log(sum);
    }
    const double best = *std::max_element(marginal.begin(), marginal.end());
    int first = 0, last = kSigmaNodes - 1;
    while (first < last && marginal[first] < best - 9) ++first;
    while (last > first && marginal[last] < best - 9) --last;
    lo = grid[std::max(first - 1, 0)];
    hi = grid[std::min(last + 1, kSigmaNodes - 1)];
    if (std::log(hi / lo) / (kSigmaNodes - 1) < fine) break;
  }
  return log_grid(lo, hi);
}

FormTerm term_of(const Node& node) {
  const Block& block = *node.block;
  const double s = scatter(block, node.tau, node.s), s2 = s * s, rho2 = node.tau * node.tau / s2;
  FormTerm term;
  term.sigma = node.s;
  term.tau = node.tau;
  term.mean = block.mean_ls;
  Eigen::Matrix3d form = rho2 * block.unseen;
  term.prior_variance = s2 * form(0, 0);
  for (Eigen::Index j = 0; j < block.l.size(); ++j) {
    const double d = rho2 / (1 + rho2 * block.l[j]);
    const Eigen::Vector3d c = block.c.col(j);
    term.mean -= c * (d * block.g[j]);
    form += d * c * c.transpose();
    if (rho2 * block.l[j] < 1) term.prior_variance += s2 * d * c[0] * c[0];
  }
  term.variance = block.variance_factor * s2 * (block.cofactor + form);
  term.noise_variance = block.variance_factor * node.s * node.s * block.cofactor(0, 0);
  return term;
}

double mixture_cdf(std::span<const FormTerm> terms, double x, double extra, double* density) {
  double sum = 0, slope = 0;
  for (const FormTerm& term : terms) {
    const double sd = std::sqrt(term.variance(0, 0) + extra);
    const double z = (x - term.mean[0]) / sd;
    sum += term.weight * normal_cdf(z);
    slope += term.weight * std::exp(-0.5 * z * z) / (sd * 2.5066282746310002);
  }
  if (density) *density = slope;
  return sum;
}

}  // namespace

double SigmaRange::log_density(double s) const {
  if (!(even_lo > 0)) return 0;
  const double more = slope * std::log(std::clamp(s, even_lo, even_hi) / even_lo);
  const double t = std::max({0.0, std::log(even_lo / s), std::log(s / even_hi)}) / spread;
  return more - 2.5 * std::log1p(t * t / 4);
}

std::vector<FormTerm> form_posterior(std::span<const FormRows> alternatives, const FormPrior& prior,
                                     const SigmaRange& sigma, std::span<const int> targets) {
  if (alternatives.empty() || !(sigma.lo > 0)) return {};
  if (!sigma.known() && alternatives.front().y.size() <= alternatives.front().flat.cols()) return {};
  std::vector<Block> blocks;
  for (const FormRows& rows : alternatives) {
    const Projection projection = project(rows, targets);
    const double log_alternative =
        rows.log_weight - (alternatives.size() > 1 ? 0.5 * projection.log_det : 0.0);
    for (const FormFamily& family : prior) {
      blocks.push_back(block_of(projection, family, log_alternative + std::log(family.mass)));
      blocks.back().variance_factor = rows.variance_factor;
    }
  }
  std::vector<Node> nodes = nodes_at(blocks, sigma_grid(blocks, sigma), sigma);
  double best = -std::numeric_limits<double>::infinity(), sum = 0;
  for (const Node& node : nodes) best = std::max(best, node.log_weight);
  std::erase_if(nodes, [&](const Node& node) { return !(node.log_weight > best - 12); });
  std::vector<FormTerm> terms;
  terms.reserve(nodes.size());
  for (const Node& node : nodes) {
    terms.push_back(term_of(node));
    sum += terms.back().weight = std::exp(node.log_weight - best);
  }
  for (FormTerm& term : terms) term.weight /= sum;
  return terms;
}

double mixture_mean(std::span<const FormTerm> terms, int target) {
  double sum = 0;
  for (const FormTerm& term : terms) sum += term.weight * term.mean[target];
  return sum;
}

double mixture_quantile(std::span<const FormTerm> terms, double p, double extra_variance) {
  const double mean = mixture_mean(terms);
  double variance = extra_variance;
  for (const FormTerm& term : terms)
    variance += term.weight * (term.variance(0, 0) + (term.mean[0] - mean) * (term.mean[0] - mean));
  const double sd = std::sqrt(variance);
  if (!(sd > 0)) return mean;
  double lo = mean - 40 * sd, hi = mean + 40 * sd;
  double x = mean + (p < 0.5 ? -kNormal95 : kNormal95) * sd;
  for (int i = 0; i < 100; ++i) {
    double density = 0;
    const double excess = mixture_cdf(terms, x, extra_variance, &density) - p;
    (excess > 0 ? hi : lo) = x;
    double next = density > 0 ? x - excess / density : lo - 1;
    if (!(next > lo && next < hi)) next = (lo + hi) / 2;
    if (std::abs(next - x) < 1e-6 * sd) return next;
    x = next;
  }
  return x;
}

}  // namespace rondure
