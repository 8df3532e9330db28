#include <cmath>

#include "photo/camera/refine.hpp"
#include "photo/camera/refine_model.hpp"
#include "photo/plane/plane_parameters.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Residuals beyond so many standard deviations weigh less (Huber): 0.3 % of a normal law, so that sound sides
// lose nothing. By judgement; what comes of it is checked by tests/bench/study_board_plane.
constexpr double kHuberSds = 3;

// Both planes to about [-1, 1], so that the eight numbers of the homography are of one size.
struct Frames {
  Eigen::Vector2d board_middle{0, 0}, pixel_middle{0, 0};
  double board_scale = 1, pixel_scale = 1;
  Eigen::Matrix3d board() const {  // scaled from board
    Eigen::Matrix3d m = Eigen::Matrix3d::Identity();
    m.block<2, 2>(0, 0) /= board_scale;
    m.block<2, 1>(0, 2) = -board_middle / board_scale;
    return m;
  }
  Eigen::Matrix3d pixel() const {
    Eigen::Matrix3d m = Eigen::Matrix3d::Identity();
    m.block<2, 2>(0, 0) /= pixel_scale;
    m.block<2, 1>(0, 2) = -pixel_middle / pixel_scale;
    return m;
  }
};

Frames frames_of(const std::vector<SideFit>& sides) {
  Frames f;
  double count = 0;
  for (const SideFit& s : sides)
    if (s.used)
      f.board_middle += s.observation[0].board_mm, f.pixel_middle += s.observation[0].q_px, count += 1;
  f.board_middle /= std::max(1.0, count), f.pixel_middle /= std::max(1.0, count);
  for (const SideFit& s : sides)
    if (s.used) {
      f.board_scale = std::max(f.board_scale, (s.observation[0].board_mm - f.board_middle).norm());
      f.pixel_scale = std::max(f.pixel_scale, (s.observation[0].q_px - f.pixel_middle).norm());
    }
  return f;
}

// How far black has grown at an edge, px, from four numbers (mm): at the middle of the board, its change to
// the right and up over the board's half width, and half of what edges across x have more than edges across
// y.
using Growth = Eigen::Vector4d;
template <class T>
T growth_px(const EdgeObservation& o, const Frames& f, const T* growth_mm) {
  const Eigen::Vector2d b = (o.board_mm - f.board_middle) / f.board_scale;
  const double across_x = std::abs(o.normal_board.x()) > std::abs(o.normal_board.y()) ? 1 : -1;
  return (growth_mm[0] + growth_mm[1] * b.x() + growth_mm[2] * b.y() + growth_mm[3] * across_x) * o.px_per_mm;
}

// Its last three are small: sd of each, px. Known so loosely they only keep few edges from bending the plane.
constexpr double kGrowthChange_px = 0.15;
struct EvenGrowth {
  double sd_mm;
  template <class T>
  bool operator()(const T* growth_mm, T* residual) const {
    for (int i = 0; i < 3; ++i) residual[i] = growth_mm[i + 1] / sd_mm;
    return true;
  }
};
void hold_growth(ceres::Problem& problem, const std::vector<SideFit>& sides, Growth& growth) {
  std::vector<double> scale;
  for (const SideFit& s : sides)
    if (s.used) scale.push_back(s.observation[0].px_per_mm);
  problem.AddResidualBlock(new ceres::AutoDiffCostFunction<EvenGrowth, 3, 4>(
                               new EvenGrowth{kGrowthChange_px / std::max(1e-9, median(scale))}),
                           nullptr, growth.data());
}

struct HomographyEdge {
  EdgeObservation o;
  Frames f;
  double sd_px;
  template <class T>
  bool operator()(const T* h, const T* growth_mm, T* residual) const {
    const Eigen::Vector2d b = (o.board_mm - f.board_middle) / f.board_scale;
    const T w = h[6] * b.x() + h[7] * b.y() + T(1);
    const T u = (h[0] * b.x() + h[1] * b.y() + h[2]) / w * f.pixel_scale + f.pixel_middle.x();
    const T v = (h[3] * b.x() + h[4] * b.y() + h[5]) / w * f.pixel_scale + f.pixel_middle.y();
    residual[0] = ((u - o.q_px.x()) * o.normal_px.x() + (v - o.q_px.y()) * o.normal_px.y() +
                   growth_px(o, f, growth_mm)) /
                  sd_px;
    return true;
  }
};

struct PoseEdge {
  EdgeObservation o;
  Frames f;
  double sd_px;
  template <class T>
  bool operator()(const T* pose, const T* lens, const T* growth_mm, T* residual) const {
    const Eigen::Matrix<T, 2, 1> p = project<T>(o.board_mm, pose, lens);
    residual[0] = ((p.x() - o.q_px.x()) * o.normal_px.x() + (p.y() - o.q_px.y()) * o.normal_px.y() +
                   growth_px(o, f, growth_mm)) /
                  sd_px;
    return true;
  }
};

struct HeldLens {
  Vector9 mean;
  Matrix9 root;  // root^T root = information
  template <class T>
  bool operator()(const T* lens, T* residual) const {
    for (int i = 0; i < 9; ++i) {
      residual[i] = T(0);
      for (int k = 0; k < 9; ++k) residual[i] += root(i, k) * (lens[k] - mean(k));
    }
    return true;
  }
};

// Exactly known or fully correlated parameters get a hair of freedom, far below anything that matters.
Matrix9 information_root(const Matrix9& covariance) {
  Vector9 floor;
  floor << 1e-3, 1e-3, 1e-3, 1e-3, 1e-6, 1e-6, 1e-7, 1e-7, 1e-6;
  const Matrix9 c = covariance + Matrix9(floor.cwiseAbs2().asDiagonal());
  const Eigen::MatrixXd information = scaled_inverse(c);
  return Eigen::LLT<Matrix9>(Matrix9(information)).matrixU();
}

// Residuals of the sides from the raw vector (two a used side, in order), and their typical size. Returns the
// variance factor of the standardised residuals; fit.chi is against the picture's noise alone.
double judge(PlaneFit& fit, const std::vector<SideFit>& sides, const Eigen::VectorXd& r, int parameters,
             double floor_px) {
  double ssq_px = 0, ssq_noise = 0;
  std::vector<double> sizes;
  Eigen::Index next = 0;
  fit.residual_sd.assign(sides.size(), 0);
  for (std::size_t i = 0; i < sides.size(); ++i) {
    if (!sides[i].used) continue;
    for (int k = 0; k < 2; ++k, ++next) {
      const double noise_px = sides[i].observation[k].sd_px;
      fit.residual_sd[i] = std::max(fit.residual_sd[i], std::abs(r(next)));
      sizes.push_back(std::abs(r(next)));
      const double px = r(next) * std::hypot(noise_px, floor_px);
      ssq_px += px * px, ssq_noise += px * px / (noise_px * noise_px);
    }
  }
  const auto count = static_cast<double>(std::max<Eigen::Index>(1, next));
  const auto freedom = static_cast<double>(std::max<Eigen::Index>(1, next - parameters));
  fit.robust_sd = 1.4826 * median(sizes);
  fit.rms_px = std::sqrt(ssq_px / count);
  fit.chi = std::sqrt(ssq_noise / freedom);
  return std::max(1.0, r.squaredNorm() / freedom);
}

// What every edge errs by besides its noise (the print, the paper): evens out the weights when it rules.
double floor_of(const PlaneFit& fit, const std::vector<SideFit>& sides) {
  std::vector<double> noise;
  for (const SideFit& s : sides)
    if (s.used) noise.push_back(s.observation[0].sd_px);
  return fit.robust_sd > 1.5 ? std::sqrt(fit.robust_sd * fit.robust_sd - 1) * median(noise) : 0;
}

// d(h 8)/d(p) of p -> homography, by central differences.
template <class Function>
Eigen::MatrixXd homography_slope(const Eigen::VectorXd& p, const Eigen::VectorXd& step, Function homography) {
  Eigen::MatrixXd j(8, p.size());
  const auto eight = [&](const Eigen::VectorXd& q) {
    const Eigen::Matrix3d h = homography(q);
    Eigen::Matrix<double, 8, 1> v;
    v << h(0, 0), h(0, 1), h(0, 2), h(1, 0), h(1, 1), h(1, 2), h(2, 0), h(2, 1);
    return Eigen::Matrix<double, 8, 1>(v / h(2, 2));
  };
  for (Eigen::Index i = 0; i < p.size(); ++i) {
    Eigen::VectorXd up = p, down = p;
    up(i) += step(i), down(i) -= step(i);
    j.col(i) = (eight(up) - eight(down)) / (2 * step(i));
  }
  return j;
}

ceres::Solver::Options solver_options() {
  ceres::Solver::Options options;
  options.linear_solver_type = ceres::DENSE_QR;
  options.max_num_iterations = 50;
  options.function_tolerance = 1e-12;
  options.parameter_tolerance = 1e-12;
  options.gradient_tolerance = 1e-12;
  options.logging_type = ceres::SILENT;
  return options;
}

PlaneFit refine_homography(const std::vector<SideFit>& sides, const Eigen::Matrix3d& start, double huber,
                           double floor_px) {
  PlaneFit fit;
  const Frames f = frames_of(sides);
  Eigen::Matrix3d scaled = f.pixel() * start * f.board().inverse();
  scaled /= scaled(2, 2);
  double h[8] = {scaled(0, 0), scaled(0, 1), scaled(0, 2), scaled(1, 0),
                 scaled(1, 1), scaled(1, 2), scaled(2, 0), scaled(2, 1)};
  Growth growth = Growth::Zero();
  ceres::Problem problem;
  for (const SideFit& s : sides)
    if (s.used)
      for (const EdgeObservation& o : s.observation)
        problem.AddResidualBlock(new ceres::AutoDiffCostFunction<HomographyEdge, 1, 8, 4>(
                                     new HomographyEdge{o, f, std::hypot(o.sd_px, floor_px)}),
                                 new ceres::HuberLoss(huber), h, growth.data());
  hold_growth(problem, sides, growth);
  ceres::Solver::Summary summary;
  ceres::Solve(solver_options(), &problem, &summary);
  fit.converged = summary.IsSolutionUsable();
  const auto raw = [&](const Eigen::VectorXd& p) {
    Eigen::Matrix3d m;
    m << p(0), p(1), p(2), p(3), p(4), p(5), p(6), p(7), 1;
    return Eigen::Matrix3d(f.pixel().inverse() * m * f.board());
  };
  Eigen::VectorXd p = Eigen::Map<Eigen::VectorXd>(h, 8);
  fit.h = raw(p) / raw(p)(2, 2);
  fit.growth_mm = growth[0];
  Eigen::VectorXd r;
  const Eigen::MatrixXd j = dense_jacobian(problem, {h, growth.data()}, &r);
  const double spread2 = judge(fit, sides, r.head(r.size() - 3), 12, floor_px);
  const Eigen::MatrixXd c = scaled_inverse(j.transpose() * j) * spread2;
  fit.u_growth_mm = std::sqrt(c(8, 8));
  const Eigen::MatrixXd slope = homography_slope(p, c.diagonal().head(8).cwiseSqrt(), raw);
  fit.covariance = slope * c.topLeftCorner(8, 8) * slope.transpose();
  return fit;
}

PlaneFit refine_pose(const std::vector<SideFit>& sides, const Eigen::Matrix3d& start, const Lens& lens,
                     const LensPrior& prior, double huber, double floor_px) {
  PlaneFit fit;
  Vector6 pose = pose_from_homography(start, lens);
  Vector9 v = lens_vector(lens);
  Growth growth = Growth::Zero();
  const Frames f = frames_of(sides);
  ceres::Problem problem;
  for (const SideFit& s : sides)
    if (s.used)
      for (const EdgeObservation& o : s.observation)
        problem.AddResidualBlock(new ceres::AutoDiffCostFunction<PoseEdge, 1, 6, 9, 4>(
                                     new PoseEdge{o, f, std::hypot(o.sd_px, floor_px)}),
                                 new ceres::HuberLoss(huber), pose.data(), v.data(), growth.data());
  hold_growth(problem, sides, growth);
  problem.AddResidualBlock(new ceres::AutoDiffCostFunction<HeldLens, 9, 9>(
                               new HeldLens{prior.mean, information_root(prior.covariance)}),
                           nullptr, v.data());
  ceres::Solver::Summary summary;
  ceres::Solve(solver_options(), &problem, &summary);
  fit.converged = summary.IsSolutionUsable();
  fit.lens = lens_from(v);
  fit.h = homography_of(pose, *fit.lens);
  fit.growth_mm = growth[0];
  Eigen::VectorXd r;
  const Eigen::MatrixXd j = dense_jacobian(problem, {pose.data(), v.data(), growth.data()}, &r);
  const Eigen::Index known = 9 + 3, data = r.size() - known;
  const double spread2 = judge(fit, sides, r.head(data), 10, floor_px);
  // The noise factor belongs to this picture's edges, not to what was known of the lens and the growth.
  const Eigen::MatrixXd n = j.topRows(data).transpose() * j.topRows(data) / spread2 +
                            j.bottomRows(known).transpose() * j.bottomRows(known);
  const Eigen::MatrixXd c = scaled_inverse(n);
  fit.u_growth_mm = std::sqrt(c(15, 15));
  Eigen::VectorXd p(15);
  p << pose, v;
  const auto homography = [](const Eigen::VectorXd& q) {
    return homography_of(q.head<6>(), lens_from(q.tail<9>()));
  };
  Eigen::MatrixXd slope = Eigen::MatrixXd::Zero(17, 15);
  slope.topRows(8) = homography_slope(p, c.diagonal().head(15).cwiseSqrt(), homography);
  slope.bottomRightCorner(9, 9).setIdentity();
  fit.covariance = slope * c.topLeftCorner(15, 15) * slope.transpose();
  return fit;
}

}  // namespace

PlaneFit refine_plane(const std::vector<SideFit>& sides, const Eigen::Matrix3d& start,
                      const std::optional<Lens>& lens, const std::optional<LensPrior>& prior) {
  const auto once = [&](const Eigen::Matrix3d& from, double huber, double floor_px) {
    return lens && prior ? refine_pose(sides, from, *lens, *prior, huber, floor_px)
                         : refine_homography(sides, from, huber, floor_px);
  };
  const PlaneFit first = once(start, kHuberSds * 10, 0);
  return once(first.h, kHuberSds, floor_of(first, sides));
}

}  // namespace rondure
