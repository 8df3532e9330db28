// Mean square error of the circle fit over the Kanatani-Cramer-Rao bound, and its bias, on arcs of 360 to 20
// degrees; the commonest algebraic fit (Kasa's) beside it. Then the ellipse, with OpenCV's three fits beside
// ours. Usage: study_fit_efficiency [circles a row = 40000]     (table on standard output)
#include <fmt/format.h>

#include <Eigen/Dense>
#include <cmath>
#include <cstdlib>
#include <opencv2/imgproc.hpp>
#include <random>
#include <vector>

#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/ellipse_fit.hpp"

using namespace rondure;

namespace {

std::vector<PartPoint> points_on(const Ellipse& e, int n, double degrees, double sigma,
                                 std::mt19937_64& random) {
  std::normal_distribution<double> noise(0, 1);
  const double ct = std::cos(e.major_axis_rad), st = std::sin(e.major_axis_rad);
  std::vector<PartPoint> points;
  for (int i = 0; i < n; ++i) {
    const double t = rad(degrees) * (degrees > 359 ? double(i) / n : double(i) / (n - 1) - 0.5);
    const double x = e.semi_major_mm * std::cos(t), y = e.semi_minor_mm * std::sin(t);
    points.push_back({ct * x - st * y + sigma * noise(random), st * x + ct * y + sigma * noise(random)});
  }
  return points;
}

double kasa_radius(const std::vector<PartPoint>& points) {
  Eigen::MatrixXd a(points.size(), 3);
  Eigen::VectorXd b(points.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    const auto row = static_cast<Eigen::Index>(i);
    a.row(row) << points[i].x_mm, points[i].y_mm, 1;
    b[row] = points[i].x_mm * points[i].x_mm + points[i].y_mm * points[i].y_mm;
  }
  const Eigen::Vector3d s = (a.transpose() * a).ldlt().solve(a.transpose() * b);
  return std::sqrt(s[2] + (s[0] * s[0] + s[1] * s[1]) / 4);
}

struct Error {
  double square = 0, sum = 0;
  int count = 0;
  void add(double e) { square += e * e, sum += e, ++count; }
  double mean_square() const { return square / count; }
  double bias() const { return sum / count; }
};

void circles(int trials) {
  fmt::print("Circle, n = 50, {} circles a row, statistical error of a ratio {:.3f}, of a bias {:.3f}.\n",
             trials, std::sqrt(2.0 / trials), 1 / std::sqrt(trials));
  fmt::print(
      "s: first-order bound (standard deviation) of R. mse: mean square error of R / s^2. reach: 1.02 + 15 "
      "(s/R)^2.\n\n");
  fmt::print("{:>8} {:>5} {:>9} {:>8} {:>8} {:>8} {:>10} {:>10} {:>10}   {}\n", "sigma/R", "arc", "s/R %",
             "mse", "reach", "mse Kasa", "bias / s", "raw", "bias Kasa", "met");
  for (const double sigma : {1e-4, 1e-3, 1e-2})
    for (const double degrees : {360.0, 270.0, 180.0, 120.0, 90.0, 60.0, 45.0, 30.0, 20.0}) {
      std::mt19937_64 random(20240);
      const Ellipse truth{{0, 0}, 1, 1, 0};
      const auto exact = fit_circle(points_on(truth, 50, degrees, 0, random));
      const double s = sigma * std::sqrt(exact->cofactor(2, 2));
      if (s > 0.12) continue;
      Error ours, corrected, kasa;
      for (int k = 0; k < trials; ++k) {
        const auto points = points_on(truth, 50, degrees, sigma, random);
        const auto fit = fit_circle(points);
        ours.add(fit->circle.radius_mm - 1);
        corrected.add(fit->circle.radius_mm - fit->essential_bias_mm() - 1);
        kasa.add(kasa_radius(points) - 1);
      }
      const double ratio = ours.mean_square() / (s * s), reach = 1.02 + 15 * s * s;
      const bool met = ratio <= reach + 2 * std::sqrt(2.0 / trials) &&
                       (degrees < 90 || std::abs(corrected.bias() / s) <= 0.03 + 2 / std::sqrt(trials));
      fmt::print("{:>8g} {:>5.0f} {:>9.4f} {:>8.3f} {:>8.3f} {:>8.3f} {:>10.3f} {:>10.3f} {:>10.3f}   {}\n",
                 sigma, degrees, 100 * s, ratio, reach, kasa.mean_square() / (s * s), corrected.bias() / s,
                 ours.bias() / s, kasa.bias() / s, met ? "yes" : "NO");
    }
}

// (m, p, q) of an OpenCV ellipse.
Eigen::Vector3d regular(const cv::RotatedRect& r) {
  const double a = r.size.width / 2.0, b = r.size.height / 2.0, t = r.angle * kPi / 180;
  return {(a + b) / 2, (a - b) / 2 * std::cos(2 * t), (a - b) / 2 * std::sin(2 * t)};
}

void ellipses(int trials) {
  fmt::print(
      "\nEllipse, n = 50, {} a row, statistical error of a ratio {:.3f}. Mean square error / bound of the "
      "mean radius m and of\n",
      trials, std::sqrt(2.0 / trials));
  fmt::print(
      "the ovality vector (p, q); bias of m in standard deviations. OpenCV works on float pixels: the "
      "ellipse is drawn 1000 px large.\n\n");
  fmt::print("{:>6} {:>5} {:>8} | {:>7} {:>7} {:>7}", "a/b", "arc", "sigma/b", "m", "ovality", "bias m");
  for (const char* name : {"fitEllipse", "Direct", "AMS"})
    fmt::print(" | {:>10} {:>8} {:>7}", name, "ovality", "bias m");
  fmt::print("\n");
  for (const double ratio : {1.0, 1.02, 1.3, 2.0})
    for (const double degrees : {360.0, 180.0}) {
      std::mt19937_64 random(77);
      const double sigma = ratio > 1.1 ? 0.005 : 0.002, scale = 1000;
      const Ellipse truth{{0, 0}, scale * ratio, scale, 0.3};
      const auto exact = fit_ellipse(points_on(truth, 50, degrees, 0, random));
      const double u2 = std::pow(scale * sigma, 2);
      const Eigen::Vector3d want = exact->parameters.tail<3>();
      const double bound_m = u2 * exact->cofactor(2, 2),
                   bound_pq = u2 * (exact->cofactor(3, 3) + exact->cofactor(4, 4));
      Error m[4], pq[4];
      for (int k = 0; k < trials; ++k) {
        const auto points = points_on(truth, 50, degrees, scale * sigma, random);
        std::vector<cv::Point2f> pixels;
        for (const PartPoint& p : points) pixels.emplace_back(float(p.x_mm), float(p.y_mm));
        const Eigen::Vector3d found[4] = {
            fit_ellipse(points)->parameters.tail<3>(), regular(cv::fitEllipse(pixels)),
            regular(cv::fitEllipseDirect(pixels)), regular(cv::fitEllipseAMS(pixels))};
        for (int j = 0; j < 4; ++j)
          m[j].add(found[j][0] - want[0]), pq[j].add((found[j] - want).tail<2>().norm());
      }
      fmt::print("{:>6g} {:>5.0f} {:>8g}", ratio, degrees, sigma);
      for (int j = 0; j < 4; ++j)
        fmt::print(fmt::runtime(j == 0 ? " | {:>7.3f} {:>7.3f} {:>7.2f}" : " | {:>10.3f} {:>8.3f} {:>7.2f}"),
                   m[j].mean_square() / bound_m, pq[j].mean_square() / bound_pq,
                   m[j].bias() / std::sqrt(bound_m));
      fmt::print("\n");
    }
}

}  // namespace

int main(int argc, char** argv) {
  const int trials = argc > 1 ? std::max(10, std::atoi(argv[1])) : 40000;
  circles(trials);
  ellipses(std::max(10, trials / 4));
}
