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

// The joint adjustment of all views: passes of least squares, the first under a wide loss; where the residuals are far above
// their noise, more with the board's own shape free.
class Bundle {
public:
  Bundle(std::vector<BundleView>& views, const Vector9& start, bool free_k3, int threads)
      : views_(views),
        free_k3_(free_k3),
        threads_(threads),
        board_(views),
        focal_((start(0) + start(1)) / 2),
        center_{start(2), start(3)},
        k_{start(4), start(5), start(6), start(7)},
        k3_(start(8)) {}

  BundleFit run(bool with_covariance) {
    BundleFit fit;
    for (int pass = 0, passes = 2; pass < passes; ++pass) {
      const bool last = pass + 1 == passes, shaped = offset_prior_mm_ > 0;
      ceres::Problem problem;
      add_edges(problem, pass == 0 ? kWideAtFirst : 1);
      if (problem.NumResidualBlocks() == 0) return fit;
      add_board(problem, shaped);
      fit.converged = solve(problem);
      const Residuals left = look_back(fit);
      robust_ = std::max(1.0, 1.4826 * median(left.in_sd));
      const double typical_px = 1.4826 * median(left.px), usual_noise_px = median(left.noise_px);
      if ((pass == 0 && typical_px > kUneven * usual_noise_px) || (shaped && !last)) {
        floor_px_ = std::sqrt(std::max(0.0, typical_px * typical_px - usual_noise_px * usual_noise_px));
        robust_ = 1;
        if (pass == 0) passes += kShapeRounds - 1;
        offset_prior_mm_ = pass == 0 ? typical_px / median(left.px_per_mm)
                                     : std::max(0.3 * offset_prior_mm_, board_.root_mean_square_mm());
      }
      if (last && with_covariance)
        fit.covariance = covariance(problem, shaped, fit.ssq / degrees_of_freedom(fit));
      if (shaped)
        fit.board = BoardShape{board_.root_mean_square_mm(), board_.most_bend_mm(1), board_.length_mm()};
    }
    return fit;
  }

private:
  static constexpr double kWideAtFirst = 10;  // of the loss: the start may be off by many standard deviations
  static constexpr int kOfAView = 7;          // pose and growth

  struct Residuals {
    std::vector<double> in_sd, px, noise_px, px_per_mm;
  };

  Eigen::Index lens_numbers() const { return free_k3_ ? 8 : 7; }
  double degrees_of_freedom(const BundleFit& fit) const {
    const double parameters =
        kOfAView * static_cast<double>(views_.size()) + static_cast<double>(lens_numbers());
    return std::max(1.0, fit.observations - parameters);
  }

  void add_edges(ceres::Problem& problem, double wide) {
    for (BundleView& view : views_)
      for (const SideFit& s : view.sides)
        if (s.used)
          for (const EdgeObservation& o : s.observation)
            problem.AddResidualBlock(new ceres::AutoDiffCostFunction<BundleEdge, 1, 6, 1, 2, 4, 1, 1, 1, 3>(
                                         new BundleEdge{o, std::hypot(o.sd_px, floor_px_), board_.place(o)}),
                                     new ceres::HuberLoss(kHuberSds * wide * robust_), view.pose.data(),
                                     &focal_, center_, k_, &k3_, &view.growth_mm, board_.offset(s),
                                     board_.bend);
  }

  // Its lines' offsets and its bend: under their priors, or as it was drawn.
  void add_board(ceres::Problem& problem, bool shaped) {
    if (!free_k3_) problem.SetParameterBlockConstant(&k3_);
    for (double& offset : board_.offsets())
      if (shaped)
        problem.AddResidualBlock(
            new ceres::AutoDiffCostFunction<Prior<1>, 1, 1>(new Prior<1>{offset_prior_mm_}), nullptr,
            &offset);
      else
        problem.SetParameterBlockConstant(&offset);
    if (shaped)
      problem.AddResidualBlock(
          new ceres::AutoDiffCostFunction<Prior<3>, 3, 3>(new Prior<3>{kBend_ratio * board_.length_mm()}),
          nullptr, board_.bend);
    else
      problem.SetParameterBlockConstant(board_.bend);
  }

  bool solve(ceres::Problem& problem) {
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_SCHUR;
    auto* order = new ceres::ParameterBlockOrdering;
    for (BundleView& view : views_) order->AddElementToGroup(&view.growth_mm, 0);
    for (BundleView& view : views_) order->AddElementToGroup(view.pose.data(), 1);
    for (double* block : {&focal_, center_, k_, &k3_, board_.bend}) order->AddElementToGroup(block, 1);
    for (double& offset : board_.offsets()) order->AddElementToGroup(&offset, 1);
    options.linear_solver_ordering.reset(order);
    options.max_num_iterations = 100;
    options.function_tolerance = 1e-12;
    options.parameter_tolerance = 1e-12;
    options.gradient_tolerance = 1e-12;
    options.num_threads = std::max(1, threads_);
    options.logging_type = ceres::SILENT;
    ceres::Solver::Summary summary;
    ceres::Solve(options, &problem, &summary);
    return summary.IsSolutionUsable();
  }

  // What the solution leaves, view by view.
  Residuals look_back(BundleFit& fit) {
    fit.lens << focal_, focal_, center_[0], center_[1], k_[0], k_[1], k_[2], k_[3], k3_;
    fit.ssq = 0, fit.observations = 0;
    double ssq_px = 0, ssq_noise = 0;
    Residuals left;
    for (BundleView& view : views_) {
      view.residual_sd.assign(view.sides.size(), 0);
      double view_px = 0, view_sd = 0;
      int count = 0;
      for (std::size_t i = 0; i < view.sides.size(); ++i) {
        if (!view.sides[i].used) continue;
        const double offset_mm = *board_.offset(view.sides[i]);
        for (const EdgeObservation& o : view.sides[i].observation) {
          const Eigen::Vector2d p =
              project<double>(o.board_mm, view.pose.data(), fit.lens.data(), board_.height(o));
          const double r = o.normal_px.dot(p - o.q_px) + (view.growth_mm + offset_mm) * o.px_per_mm;
          const double sd = std::hypot(o.sd_px, floor_px_);
          view.residual_sd[i] = std::max(view.residual_sd[i], std::abs(r) / sd);
          left.in_sd.push_back(std::abs(r) / sd), left.px.push_back(std::abs(r));
          left.noise_px.push_back(o.sd_px), left.px_per_mm.push_back(o.px_per_mm);
          fit.ssq += r * r / (sd * sd);
          view_px += r * r, view_sd += r * r / (o.sd_px * o.sd_px), ++count;
        }
      }
      view.rms_px = std::sqrt(view_px / std::max(1, count));
      view.chi = std::sqrt(view_sd / std::max(1, count - kOfAView));
      ssq_px += view_px, ssq_noise += view_sd, fit.observations += count;
    }
    fit.rms_px = std::sqrt(ssq_px / std::max(1, fit.observations));
    fit.chi = std::sqrt(ssq_noise / degrees_of_freedom(fit));
    return left;
  }

  // Of fx fy cx cy k1 k2 p1 p2 k3, poses and the board's shape summed out.
  Matrix9 covariance(ceres::Problem& problem, bool shaped, double spread2) {
    std::vector<double*> blocks = {&focal_, center_, k_};
    if (free_k3_) blocks.push_back(&k3_);
    for (BundleView& view : views_) blocks.push_back(view.pose.data()), blocks.push_back(&view.growth_mm);
    if (shaped) {
      blocks.push_back(board_.bend);
      for (double& offset : board_.offsets()) blocks.push_back(&offset);
    }
    Eigen::VectorXd residuals;
    const Eigen::MatrixXd j = dense_jacobian(problem, blocks, &residuals);
    const Eigen::Index own = lens_numbers();
    Eigen::MatrixXd c = scaled_inverse(j.transpose() * j);
    c *= std::max({1.0, spread2, shaped ? spread_of_views(views_, j, residuals, c, own) : 1.0});
    Eigen::MatrixXd spread = Eigen::MatrixXd::Zero(9, own);  // d(fx fy cx cy k1 k2 p1 p2 k3) / d(own)
    spread(0, 0) = spread(1, 0) = 1;
    for (Eigen::Index i = 1; i < own; ++i) spread(i + 1, i) = 1;
    return spread * c.topLeftCorner(own, own) * spread.transpose();
  }

  std::vector<BundleView>& views_;
  const bool free_k3_;
  const int threads_;
  Board board_;
  double focal_, center_[2], k_[4], k3_;
  double robust_ = 1;
  double floor_px_ = 0;         // what every edge errs by besides its noise: the board's own print
  double offset_prior_mm_ = 0;  // 0: the board is taken as it was drawn
};

}  // namespace

BundleFit refine_camera(std::vector<BundleView>& views, const Vector9& start, bool free_k3,
                        bool with_covariance, int threads) {
  return Bundle(views, start, free_k3, threads).run(with_covariance);
}

}  // namespace rondure
