#include <cmath>

#include "photo/camera/refine.hpp"
#include "photo/camera/refine_model.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr double kHuberSds = 3;

// Lens parameters of the bundle: one focal length, centre, k1 k2 p1 p2, k3.
struct BundleEdge {
  EdgeObservation o;
  double sd_px;
  template <class T>
  bool operator()(const T* pose, const T* focal, const T* center, const T* k, const T* k3, const T* growth_mm,
                  T* residual) const {
    const T lens[9] = {focal[0], focal[0], center[0], center[1], k[0], k[1], k[2], k[3], k3[0]};
    const Eigen::Matrix<T, 2, 1> p = project<T>(o.board_mm, pose, lens);
    residual[0] = ((p.x() - o.q_px.x()) * o.normal_px.x() + (p.y() - o.q_px.y()) * o.normal_px.y() +
                   growth_mm[0] * o.px_per_mm) /
                  sd_px;
    return true;
  }
};

}  // namespace

double edge_distance_px(const EdgeObservation& o, const Vector6& pose, const Vector9& lens,
                        double growth_mm) {
  const Eigen::Vector2d p = project<double>(o.board_mm, pose.data(), lens.data());
  return o.normal_px.dot(p - o.q_px) + growth_mm * o.px_per_mm;
}

BundleFit refine_camera(std::vector<BundleView>& views, const Vector9& start, bool free_k3,
                        bool with_covariance, int threads) {
  BundleFit fit;
  Vector9 lens = start;
  double focal = (lens(0) + lens(1)) / 2, center[2] = {lens(2), lens(3)},
         k[4] = {lens(4), lens(5), lens(6), lens(7)}, k3 = lens(8);
  double robust = 1;
  double floor_px = 0;  // what every edge errs by besides its noise: the board's own print
  const auto now = [&] {
    Vector9 v;
    v << focal, focal, center[0], center[1], k[0], k[1], k[2], k[3], k3;
    return v;
  };
  for (int pass = 0; pass < 2; ++pass) {
    ceres::Problem problem;
    for (BundleView& view : views)
      for (const SideFit& s : view.sides)
        if (s.used)
          for (const EdgeObservation& o : s.observation)
            problem.AddResidualBlock(
                new ceres::AutoDiffCostFunction<BundleEdge, 1, 6, 1, 2, 4, 1, 1>(new BundleEdge{o, std::hypot(o.sd_px, floor_px)}),
                new ceres::HuberLoss(kHuberSds * (pass == 0 ? 10 : 1) * robust), view.pose.data(), &focal,
                center, k, &k3, &view.growth_mm);
    if (problem.NumResidualBlocks() == 0) return fit;
    if (!free_k3) problem.SetParameterBlockConstant(&k3);
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_SCHUR;
    auto* order = new ceres::ParameterBlockOrdering;
    for (BundleView& view : views) order->AddElementToGroup(&view.growth_mm, 0);
    for (BundleView& view : views) order->AddElementToGroup(view.pose.data(), 1);
    for (double* block : {&focal, center, k, &k3}) order->AddElementToGroup(block, 1);
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
    std::vector<double> sizes, sizes_px, noise_px;
    for (BundleView& view : views) {
      view.residual_sd.assign(view.sides.size(), 0);
      double view_px = 0, view_sd = 0;
      int count = 0;
      for (std::size_t i = 0; i < view.sides.size(); ++i) {
        if (!view.sides[i].used) continue;
        for (const EdgeObservation& o : view.sides[i].observation) {
          const double r = edge_distance_px(o, view.pose, fit.lens, view.growth_mm);
          const double sd = std::hypot(o.sd_px, floor_px);
          view.residual_sd[i] = std::max(view.residual_sd[i], std::abs(r) / sd);
          sizes.push_back(std::abs(r) / sd), sizes_px.push_back(std::abs(r)), noise_px.push_back(o.sd_px);
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
    if (pass == 0 && typical_px > 1.5 * usual_noise_px) {
      floor_px = std::sqrt(typical_px * typical_px - usual_noise_px * usual_noise_px);
      robust = 1;
    }
    const double parameters = 7.0 * static_cast<double>(views.size()) + (free_k3 ? 8 : 7);
    fit.rms_px = std::sqrt(ssq_px / std::max(1, fit.observations));
    fit.chi = std::sqrt(ssq_noise / std::max(1.0, fit.observations - parameters));
    const double spread2 = fit.ssq / std::max(1.0, fit.observations - parameters);
    if (pass == 1 && with_covariance) {
      std::vector<double*> blocks = {&focal, center, k};
      if (free_k3) blocks.push_back(&k3);
      for (BundleView& view : views) blocks.push_back(view.pose.data()), blocks.push_back(&view.growth_mm);
      const Eigen::MatrixXd j = dense_jacobian(problem, blocks, nullptr);
      const Eigen::MatrixXd c = scaled_inverse(j.transpose() * j) * std::max(1.0, spread2);
      const Eigen::Index own = free_k3 ? 8 : 7;
      Eigen::MatrixXd spread = Eigen::MatrixXd::Zero(9, own);  // d(fx fy cx cy k1 k2 p1 p2 k3) / d(own)
      spread(0, 0) = spread(1, 0) = 1;
      for (Eigen::Index i = 1; i < own; ++i) spread(i + 1, i) = 1;
      fit.covariance = spread * c.topLeftCorner(own, own) * spread.transpose();
    }
  }
  return fit;
}

}  // namespace rondure
