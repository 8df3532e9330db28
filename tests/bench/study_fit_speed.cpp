// Speed of the fits beside general-purpose libraries, in one run on one thread; the peers' work is the same
// points. Usage: study_fit_speed [ours]     (table on standard output; times depend on the machine, ratios
// hardly; `ours`: without the peers)
#include <ceres/ceres.h>
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>
#include <functional>
#include <opencv2/imgproc.hpp>
#include <random>
#include <unsupported/Eigen/NonLinearOptimization>
#include <vector>
#if defined(__x86_64__)
#include <emmintrin.h>
#endif

#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/ellipse_fit.hpp"
#include "rondure/fit/reference_circles.hpp"

using namespace rondure;

namespace {

double keep;  // results go here, so that no work is left out

double thread_seconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return double(t.tv_sec) + 1e-9 * double(t.tv_nsec);
}

// Least of the runs, by the clock or by this thread's processor time, whichever is less: the clock counts
// what other programs take, reading the processor time costs a fraction of a microsecond.
double seconds(const std::function<void()>& work, int repeats) {
  double best = 1e300;
  for (int k = 0; k < repeats; ++k) {
    const double thread_start = thread_seconds();
    const auto start = std::chrono::steady_clock::now();
    work();
    best = std::min(best, std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
    best = std::min(best, thread_seconds() - thread_start);
  }
  return best;
}

std::vector<PartPoint> part(std::size_t n, double ratio = 1.02) {
  std::mt19937_64 random(3);
  std::normal_distribution<double> noise(0, 0.005);
  std::vector<PartPoint> points(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double t = 2 * kPi * double(i) / double(n);
    points[i] = {3 + 10 * ratio * std::cos(t) + noise(random), 7 + 10 * std::sin(t) + noise(random)};
  }
  return points;
}

// One read of the points with nothing of them in a cache.
double cold_read(const std::vector<PartPoint>& points) {
  double best = 1e300;
  for (int k = 0; k < 5; ++k) {
#if defined(__x86_64__)
    for (std::size_t i = 0; i < points.size(); i += 4) _mm_clflush(&points[i]);
    _mm_mfence();
#endif
    best = std::min(best, seconds(
                              [&] {
                                double s[8] = {};
                                const double* v = &points[0].x_mm;
                                for (std::size_t i = 0; i + 8 <= 2 * points.size(); i += 8)
                                  for (std::size_t j = 0; j < 8; ++j) s[j] += v[i + j];
                                for (const double x : s) keep += x;
                              },
                              1));
  }
  return best;
}

// Geometric circle by Levenberg-Marquardt of Eigen's unsupported module.
struct CircleResiduals {
  using Scalar = double;
  enum { InputsAtCompileTime = Eigen::Dynamic, ValuesAtCompileTime = Eigen::Dynamic };
  using InputType = Eigen::VectorXd;
  using ValueType = Eigen::VectorXd;
  using JacobianType = Eigen::MatrixXd;
  const std::vector<PartPoint>& points;
  int inputs() const { return 3; }
  int values() const { return int(points.size()); }
  int operator()(const Eigen::VectorXd& p, Eigen::VectorXd& f) const {
    for (std::size_t i = 0; i < points.size(); ++i)
      f[Eigen::Index(i)] = std::hypot(points[i].x_mm - p[0], points[i].y_mm - p[1]) - p[2];
    return 0;
  }
  int df(const Eigen::VectorXd& p, Eigen::MatrixXd& j) const {
    for (std::size_t i = 0; i < points.size(); ++i) {
      const double dx = points[i].x_mm - p[0], dy = points[i].y_mm - p[1], d = std::hypot(dx, dy);
      j.row(Eigen::Index(i)) << -dx / d, -dy / d, -1;
    }
    return 0;
  }
};
double eigen_circle(const std::vector<PartPoint>& points) {
  CircleResiduals residuals{points};
  Eigen::VectorXd p(3);
  p << 2.5, 6.5, 9;
  Eigen::LevenbergMarquardt<CircleResiduals> lm(residuals);
  lm.minimize(p);
  return p[2];
}

struct CircleCost {
  double x, y;
  template <class T>
  bool operator()(const T* p, T* r) const {
    using std::sqrt;
    r[0] = sqrt((x - p[0]) * (x - p[0]) + (y - p[1]) * (y - p[1])) - p[2];
    return true;
  }
};
double ceres_circle(const std::vector<PartPoint>& points) {
  double p[3] = {2.5, 6.5, 9};
  ceres::Problem problem;
  for (const PartPoint& q : points)
    problem.AddResidualBlock(
        new ceres::AutoDiffCostFunction<CircleCost, 1, 3>(new CircleCost{q.x_mm, q.y_mm}), nullptr, p);
  ceres::Solver::Options options;
  options.linear_solver_type = ceres::DENSE_QR;
  options.logging_type = ceres::SILENT;
  ceres::Solver::Summary summary;
  ceres::Solve(options, &problem, &summary);
  return p[2];
}

std::vector<cv::Point2f> pixels(const std::vector<PartPoint>& points) {
  std::vector<cv::Point2f> out;
  for (const PartPoint& p : points) out.emplace_back(float(p.x_mm), float(p.y_mm));
  return out;
}

void row(const char* what, std::size_t n, double ours, const char* peer, double theirs,
         const std::string& note = {}) {
  fmt::print("{:<34} {:>9} {:>12.2f} {:>9.1f} | {:<22} {:>12} {:>9}  {}\n", what, n, ours * 1e6,
             ours * 1e9 / double(n), peer, theirs > 0 ? fmt::format("{:.2f}", theirs * 1e6) : "-",
             theirs > 0 ? fmt::format("{:.1f}", theirs / ours) : "-", note);
}

}  // namespace

int main(int argc, char**) {
  const bool peers = argc == 1;
  fmt::print(
      "Least of several runs, one thread, clock or processor time. ratio: peer / ours. Ours always with "
      "covariance (circle, ellipse) "
      "or contact points.\n\n");
  fmt::print("{:<34} {:>9} {:>12} {:>9} | {:<22} {:>12} {:>9}\n", "what", "n", "ours us", "ns/point", "peer",
             "us", "ratio");
  for (const std::size_t n : {100u, 10000u, 1000000u}) {
    const auto points = part(n, 1);
    const int repeats = n > 100000 ? 40 : n > 1000 ? 100 : 2000;
    const double ours = seconds([&] { keep += fit_circle(points)->cofactor(2, 2); }, repeats);
    if (peers) {
      row("geometric circle", n, ours, "Eigen LM",
          seconds([&] { keep += eigen_circle(points); }, n > 100000 ? 1 : 20));
      row("geometric circle", n, ours, "Ceres, automatic der.",
          seconds([&] { keep += ceres_circle(points); }, n > 100000 ? 1 : 3));
    } else if (n < 1000000) {
      row("geometric circle", n, ours, "-", 0);
    }
    if (n == 1000000) {
      const double read = cold_read(points);
      row("geometric circle", n, ours, "one cold read", read,
          fmt::format("ours / read = {:.2f}", ours / read));
    }
  }
  for (const std::size_t n : {100u, 10000u, 1000000u}) {
    const auto points = part(n);
    const auto pix = pixels(points);
    const int repeats = n > 100000 ? 3 : n > 1000 ? 30 : 1000;
    const double ours = seconds([&] { keep += fit_ellipse(points)->cofactor(2, 2); }, repeats);
    row("orthogonal-distance ellipse", n, ours, "OpenCV fitEllipse",
        peers ? seconds([&] { keep += cv::fitEllipse(pix).angle; }, n > 100000 ? 1 : 10) : 0,
        "algebraic, no covariance");
  }
  for (const std::size_t n : {360u, 10000u, 100000u}) {
    const auto points = part(n, 1);
    const auto pix = pixels(points);
    const int repeats = n > 50000 ? 5 : n > 1000 ? 30 : 500;
    cv::Point2f center;
    float radius = 0;
    const double mcc = seconds([&] { keep += minimum_circumscribed(points)->circle.radius_mm; }, repeats);
    const double opencv = !peers || n > 50000 ? 0
                                              : seconds([&] { cv::minEnclosingCircle(pix, center, radius); },
                                                        n > 1000 ? 1 : 10);
    row("minimum circumscribed circle", n, mcc, "OpenCV", opencv,
        opencv > 0 ? fmt::format("OpenCV's radius off by {:.1e} R",
                                 std::abs(radius / minimum_circumscribed(points)->circle.radius_mm - 1))
                   : "");
    row("maximum inscribed circle", n,
        seconds([&] { keep += maximum_inscribed(points)->circle.radius_mm; }, repeats), "none", 0);
    row("minimum zone circle", n, seconds([&] { keep += minimum_zone(points)->zone_mm; }, repeats), "none",
        0);
  }
  return keep == 0.12345;
}
