#include <algorithm>
#include <cmath>
#include <deque>
#include <map>

#include "photo/camera/refine.hpp"
#include "photo/camera/refine_model.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr double kHuberSds = 3;  // beyond it (0.3 % of a normal law) an edge weighs less; as refine_plane.cpp
constexpr double kUneven = 1.5;  // typical miss over noise from which the board itself is looked at
constexpr double kBend_ratio =
    0.005;  // of the board's length: standard deviation of a sheet that was called flat
constexpr int kShapeRounds = 3;

// Lens parameters of the bundle: one focal length, centre, k1 k2 p1 p2, k3. `place`: the board coordinates over half its
// length; `bend`: heights there of x^2, xy, y^2.
struct BundleEdge {
  EdgeObservation o;
  double sd_px;
  Eigen::Vector2d place;
  template <class T>
  bool operator()(const T* pose, const T* focal, const T* center, const T* k, const T* k3, const T* growth_mm,
                  const T* offset_mm, const T* bend_mm, T* residual) const {
    const T lens[9] = {focal[0], focal[0], center[0], center[1], k[0], k[1], k[2], k[3], k3[0]};
    const T z = bend_mm[0] * (place.x() * place.x()) + bend_mm[1] * (place.x() * place.y()) +
                bend_mm[2] * (place.y() * place.y());
    const Eigen::Matrix<T, 2, 1> p = project<T>(o.board_mm, pose, lens, z);
    residual[0] = ((p.x() - o.q_px.x()) * o.normal_px.x() + (p.y() - o.q_px.y()) * o.normal_px.y() +
                   (growth_mm[0] + offset_mm[0]) * o.px_per_mm) /
                  sd_px;
    return true;
  }
};

// N(0, sd) of each component.
template <int count>
struct Prior {
  double sd;
  template <class T>
  bool operator()(const T* x, T* residual) const {
    for (int i = 0; i < count; ++i) residual[i] = x[i] / sd;
    return true;
  }
};

// The sides of the board by where they lie, and what is estimated of each.
class Board {
public:
  explicit Board(const std::vector<BundleView>& views) {
    Eigen::Vector2d lo(1e9, 1e9), hi(-1e9, -1e9);
    for (const BundleView& view : views)
      for (const SideFit& s : view.sides)
        if (s.used)
          for (const EdgeObservation& o : s.observation)
            lo = lo.cwiseMin(o.board_mm), hi = hi.cwiseMax(o.board_mm);
    middle_ = 0.5 * (lo + hi), half_ = std::max(1e-9, 0.5 * (hi - lo).maxCoeff());
  }
  Eigen::Vector2d place(const EdgeObservation& o) const { return (o.board_mm - middle_) / half_; }
  double* offset(const SideFit& s) {
    const Eigen::Vector2d at = 0.5 * (s.observation[0].board_mm + s.observation[1].board_mm) / (1e-3 * half_);
    const auto [found, is_new] =
        number_.try_emplace({std::lround(at.x()), std::lround(at.y())}, offsets_.size());
    if (is_new) offsets_.push_back(0);
    return &offsets_[found->second];
  }
  double height(const EdgeObservation& o) const {
    const Eigen::Vector2d p = place(o);
    return bend[0] * p.x() * p.x() + bend[1] * p.x() * p.y() + bend[2] * p.y() * p.y();
  }
  std::deque<double>& offsets() { return offsets_; }
  double length_mm() const { return 2 * half_; }
  double root_mean_square_mm() const {
    double sum = 0;
    for (const double o : offsets_) sum += o * o;
    return std::sqrt(sum / std::max<double>(1, static_cast<double>(offsets_.size())));
  }
  double most_bend_mm(double aspect) const {
    double most = 0;
    for (const double side : {-1.0, 1.0})
      most = std::max(most, std::abs(bend[0] + side * bend[1] * aspect + bend[2] * aspect * aspect));
    return most;
  }
  double bend[3] = {0, 0, 0};

private:
  Eigen::Vector2d middle_;
  double half_ = 1;
  std::map<std::pair<long, long>, std::size_t> number_;
  std::deque<double> offsets_;  // Ceres keeps pointers
};

// What is left within a view errs alike (a sheet held otherwise in each): by how much the views' pulls on the lens, each as
// one, exceed what independent edges would do to its variance, mean over the lens parameters (a sandwich estimate with
// the views as clusters: Liang and Zeger, Biometrika 73, 1986).
double spread_of_views(const std::vector<BundleView>& views, const Eigen::MatrixXd& j,
                       const Eigen::VectorXd& residuals, const Eigen::MatrixXd& inverse, Eigen::Index own) {
  Eigen::MatrixXd sum = Eigen::MatrixXd::Zero(own, own);
  Eigen::Index row = 0;
  for (const BundleView& view : views) {
    const auto used =
        std::count_if(view.sides.begin(), view.sides.end(), [](const SideFit& s) { return s.used; });
    const Eigen::Index rows = 2 * static_cast<Eigen::Index>(used);
    const Eigen::VectorXd pull =
        inverse.topRows(own) * (j.middleRows(row, rows).transpose() * residuals.segment(row, rows));
    sum += pull * pull.transpose();
    row += rows;
  }
  const double count = static_cast<double>(views.size());
  const Eigen::MatrixXd ratio = inverse.topLeftCorner(own, own).ldlt().solve(sum);
  return ratio.trace() / static_cast<double>(own) * count / std::max(1.0, count - 1);
}

}  // namespace

BundleFit refine_camera(std::vector<BundleView>& views, const Vector9& start, bool free_k3,
                        bool with_covariance, int threads) {
  BundleFit fit;
  Vector9 lens = start;
  double focal = (lens(0) + lens(1)) / 2, center[2] = {lens(2), lens(3)},
         k[4] = {lens(4), lens(5), lens(6), lens(7)}, k3 = lens(8);
  double robust = 1;
  double floor_px = 0;         // what every edge errs by besides its noise: the board's own print
  double offset_prior_mm = 0;  // 0: the board is taken as it was drawn
  Board board(views);
  const auto now = [&] {
    Vector9 v;
    v << focal, focal, center[0], center[1], k[0], k[1], k[2], k[3], k3;
    return v;
  };
  for (int pass = 0, passes = 2; pass < passes; ++pass) {
    const bool last = pass + 1 == passes, shaped = offset_prior_mm > 0;
    ceres::Problem problem;
    for (BundleView& view : views)
      for (const SideFit& s : view.sides)
        if (s.used)
          for (const EdgeObservation& o : s.observation)
            problem.AddResidualBlock(new ceres::AutoDiffCostFunction<BundleEdge, 1, 6, 1, 2, 4, 1, 1, 1, 3>(
                                         new BundleEdge{o, std::hypot(o.sd_px, floor_px), board.place(o)}),
                                     new ceres::HuberLoss(kHuberSds * (pass == 0 ? 10 : 1) * robust),
                                     view.pose.data(), &focal, center, k, &k3, &view.growth_mm,
                                     board.offset(s), board.bend);
    if (problem.NumResidualBlocks() == 0) return fit;
    if (!free_k3) problem.SetParameterBlockConstant(&k3);
    for (double& offset : board.offsets())
      if (shaped)
        problem.AddResidualBlock(
            new ceres::AutoDiffCostFunction<Prior<1>, 1, 1>(new Prior<1>{offset_prior_mm}), nullptr, &offset);
      else
        problem.SetParameterBlockConstant(&offset);
    if (shaped)
      problem.AddResidualBlock(
          new ceres::AutoDiffCostFunction<Prior<3>, 3, 3>(new Prior<3>{kBend_ratio * board.length_mm()}),
          nullptr, board.bend);
    else
      problem.SetParameterBlockConstant(board.bend);
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_SCHUR;
    auto* order = new ceres::ParameterBlockOrdering;
    for (BundleView& view : views) order->AddElementToGroup(&view.growth_mm, 0);
    for (BundleView& view : views) order->AddElementToGroup(view.pose.data(), 1);
    for (double* block : {&focal, center, k, &k3, board.bend}) order->AddElementToGroup(block, 1);
    for (double& offset : board.offsets()) order->AddElementToGroup(&offset, 1);
    options.linear_solver_ordering.reset(order);
    options.max_num_iterations = 100;
    options.function_tolerance = 1e-12;
    options.parameter_tolerance = 1e-12;
    options.gradient_tolerance = 1e-12;
    options.num_threads = std::max(1, threads);
    options.logging_type = ceres::SILENT;
    ceres::Solver::Summary summary;
    ceres::Solve(options, &problem, &summary);
    fit.converged = summary.IsSolutionUsable();

    fit.lens = now();
    fit.ssq = 0, fit.observations = 0;
    double ssq_px = 0, ssq_noise = 0;
    std::vector<double> sizes, sizes_px, noise_px, scales;
    for (BundleView& view : views) {
      view.residual_sd.assign(view.sides.size(), 0);
      double view_px = 0, view_sd = 0;
      int count = 0;
      for (std::size_t i = 0; i < view.sides.size(); ++i) {
        if (!view.sides[i].used) continue;
        const double offset_mm = *board.offset(view.sides[i]);
        for (const EdgeObservation& o : view.sides[i].observation) {
          const Eigen::Vector2d p =
              project<double>(o.board_mm, view.pose.data(), fit.lens.data(), board.height(o));
          const double r = o.normal_px.dot(p - o.q_px) + (view.growth_mm + offset_mm) * o.px_per_mm;
          const double sd = std::hypot(o.sd_px, floor_px);
          view.residual_sd[i] = std::max(view.residual_sd[i], std::abs(r) / sd);
          sizes.push_back(std::abs(r) / sd), sizes_px.push_back(std::abs(r)), noise_px.push_back(o.sd_px);
          scales.push_back(o.px_per_mm);
          fit.ssq += r * r / (sd * sd);
          view_px += r * r, view_sd += r * r / (o.sd_px * o.sd_px), ++count;
        }
      }
      view.rms_px = std::sqrt(view_px / std::max(1, count)),
      view.chi = std::sqrt(view_sd / std::max(1, count - 7));
      ssq_px += view_px, ssq_noise += view_sd, fit.observations += count;
    }
    robust = std::max(1.0, 1.4826 * median(sizes));
    const double typical_px = 1.4826 * median(sizes_px), usual_noise_px = median(noise_px);
    if ((pass == 0 && typical_px > kUneven * usual_noise_px) || (shaped && !last)) {
      floor_px = std::sqrt(std::max(0.0, typical_px * typical_px - usual_noise_px * usual_noise_px));
      robust = 1;
      if (pass == 0) passes += kShapeRounds - 1;
      offset_prior_mm = pass == 0 ? typical_px / median(scales)
                                  : std::max(0.3 * offset_prior_mm, board.root_mean_square_mm());
    }
    const double parameters = 7.0 * static_cast<double>(views.size()) + (free_k3 ? 8 : 7);
    fit.rms_px = std::sqrt(ssq_px / std::max(1, fit.observations));
    fit.chi = std::sqrt(ssq_noise / std::max(1.0, fit.observations - parameters));
    const double spread2 = fit.ssq / std::max(1.0, fit.observations - parameters);
    if (last && with_covariance) {
      std::vector<double*> blocks = {&focal, center, k};
      if (free_k3) blocks.push_back(&k3);
      for (BundleView& view : views) blocks.push_back(view.pose.data()), blocks.push_back(&view.growth_mm);
      if (shaped) {
        blocks.push_back(board.bend);
        for (double& offset : board.offsets()) blocks.push_back(&offset);
      }
      Eigen::VectorXd residuals;
      const Eigen::MatrixXd j = dense_jacobian(problem, blocks, &residuals);
      const Eigen::Index own = free_k3 ? 8 : 7;
      Eigen::MatrixXd c = scaled_inverse(j.transpose() * j);
      c *= std::max({1.0, spread2, shaped ? spread_of_views(views, j, residuals, c, own) : 1.0});
      Eigen::MatrixXd spread = Eigen::MatrixXd::Zero(9, own);  // d(fx fy cx cy k1 k2 p1 p2 k3) / d(own)
      spread(0, 0) = spread(1, 0) = 1;
      for (Eigen::Index i = 1; i < own; ++i) spread(i + 1, i) = 1;
      fit.covariance = spread * c.topLeftCorner(own, own) * spread.transpose();
    }
    if (shaped) fit.board = BoardShape{board.root_mean_square_mm(), board.most_bend_mm(1), board.length_mm()};
  }
  return fit;
}

}  // namespace rondure
