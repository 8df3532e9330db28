// How far the axis rises towards the camera: the tilt at which both ends come out straight.
#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "in_axis.hpp"
#include "rondure/core/dense_solve.hpp"

namespace rondure {
namespace {

constexpr double kMostTilt_rad = 0.105;  // 6 degrees: beyond it a face's outline is no face by its direction
constexpr int kLeastTiltPoints = 12;     // of a face, for its bow
constexpr double kWithinRim =
    0.95;  // of the rim's radius: farther out the bow is too steep for a point's error
constexpr double kStraightened = 3;  // times its noise that a straightened face may still be off
constexpr int kTiltRounds = 3;
constexpr int kGrid = 42;             // steps of the search on either side of nought
constexpr std::size_t kOnGrid = 100;  // points of an end that tell which step is lowest

// The points of one end, and what is left of its bow at a tilt.
struct End {
  std::vector<int> points;
  double looks = 1;
};

std::vector<End> ends_of(const InAxis& a, const std::vector<OutlinePoint>& outline) {
  double lo = 1e300, hi = -1e300;
  for (const auto& p : a.at) lo = std::min(lo, p.x()), hi = std::max(hi, p.x());
  const double near = 0.1 * (hi - lo);
  std::vector<End> ends;
  for (const double looks : {-1.0, 1.0}) {
    End end{{}, looks};
    for (int i = 0; i < static_cast<int>(outline.size()); ++i)
      if (a.is_face[i] && a.normal[i].x() * looks > 0 &&
          std::abs(a.at[i].x() - (looks < 0 ? lo : hi)) < near &&
          std::abs(a.at[i].y()) < kWithinRim * a.rim_mm[i])
        end.points.push_back(i);
    ends.push_back(end);
  }
  return ends;
}

// Places along the axis, less their mean and their slope: what is not straight. Robust weights are not needed: the
// outline's own search left out what is no edge.
std::vector<double> not_straight(const InAxis& a, const End& end, double tilt_rad) {
  const SideCamera camera(a.camera_mm, tilt_rad);
  const int n = static_cast<int>(end.points.size());
  Eigen::MatrixXd line(n, 2);
  Eigen::VectorXd place(n);
  for (int k = 0; k < n; ++k) {
    const int i = end.points[k];
    const Eigen::Vector2d body = a.face_place(static_cast<std::size_t>(i), camera);
    line.row(k) << 1, body.y();
    place[k] = body.x();
  }
  const Eigen::Vector2d fit = SymmetricSolver(gram(line)).solve(cross(line, place));
  const Eigen::VectorXd left = place - line * fit;
  return {left.data(), left.data() + n};
}

// Sum of squares of what is not straight.
double sum2(const InAxis& a, const std::vector<End>& ends, double tilt_rad, std::size_t most = 1u << 30) {
  const SideCamera camera(a.camera_mm, tilt_rad);
  double sum = 0;
  for (const End& end : ends) {
    const std::size_t every = 1 + (end.points.size() - 1) / most;
    const Eigen::Vector2d zero = a.face_place(static_cast<std::size_t>(end.points[0]), camera);
    double n = 0;
    Eigen::Vector2d first = Eigen::Vector2d::Zero();
    Eigen::Vector3d second = Eigen::Vector3d::Zero();  // xx, xy, yy
    for (std::size_t k = 0; k < end.points.size(); k += every) {
      const Eigen::Vector2d p = a.face_place(static_cast<std::size_t>(end.points[k]), camera) - zero;
      n += 1, first += p, second += Eigen::Vector3d(p.x() * p.x(), p.x() * p.y(), p.y() * p.y());
    }
    const double xx = second[0] - first.x() * first.x() / n, xy = second[1] - first.x() * first.y() / n,
                 yy = second[2] - first.y() * first.y() / n;
    sum += std::max(0.0, yy > 0 ? xx - xy * xy / yy : xx);
  }
  return sum;
}

// Least of a sum that has one valley on each side of nought.
double valley(const InAxis& a, const std::vector<End>& ends) {
  double best = 0, least = 1e300;
  for (int k = -kGrid; k <= kGrid; ++k)
    if (const double t = kMostTilt_rad * k / kGrid, s = sum2(a, ends, t, kOnGrid); s < least)
      least = s, best = t;
  double lo = best - kMostTilt_rad / kGrid, hi = best + kMostTilt_rad / kGrid;
  // (sqrt 5 - 1) / 2, and where the search ends: closer to its least a sum of squares differs by its rounding alone.
  constexpr double kGolden = 0.6180339887498949, kFine_rad = 1e-8;
  double p = hi - kGolden * (hi - lo), q = lo + kGolden * (hi - lo), at_p = sum2(a, ends, p),
         at_q = sum2(a, ends, q);
  while (hi - lo > kFine_rad) {
    if (at_p < at_q) {
      hi = q, q = p, at_q = at_p, p = hi - kGolden * (hi - lo), at_p = sum2(a, ends, p);
    } else {
      lo = p, p = q, at_p = at_q, q = lo + kGolden * (hi - lo), at_q = sum2(a, ends, q);
    }
  }
  return 0.5 * (lo + hi);
}

}  // namespace

std::optional<Estimate> tilt_from_faces(const std::vector<OutlinePoint>& outline, const MeridianAxis& axis,
                                        const Eigen::Vector3d& camera_mm, double step_mm) {
  InAxis a;
  std::vector<End> ends;
  double tilt = 0;
  int points = 0;
  for (int round = 0; round < kTiltRounds; ++round) {  // the rims' radii follow the tilt
    a = in_axis(outline, axis, camera_mm, tilt, step_mm), ends = ends_of(a, outline);
    points = 0;
    for (const End& end : ends) {
      if (static_cast<int>(end.points.size()) < kLeastTiltPoints) return std::nullopt;
      points += static_cast<int>(end.points.size());
    }
    tilt = valley(a, ends);
  }
  if (std::abs(tilt) > 0.98 * kMostTilt_rad) return std::nullopt;
  // Scatter of neighbours against what is left of the whole: a domed end stays curved at every tilt.
  double rough2 = 0, left2 = 0;
  for (const End& end : ends) {
    const auto left = not_straight(a, end, tilt);
    for (std::size_t k = 0; k < left.size(); ++k) {
      left2 += left[k] * left[k];
      if (k > 0) rough2 += 0.5 * (left[k] - left[k - 1]) * (left[k] - left[k - 1]);
    }
  }
  const double noise_mm = std::sqrt(std::max(rough2 / points, 1e-14));
  if (std::sqrt(left2 / points) > kStraightened * noise_mm + 0.02 * step_mm) return std::nullopt;
  constexpr double kStep = 1e-3;  // rad, of a second difference: a hundredth of the range searched
  const double bend =
      (sum2(a, ends, tilt + kStep) - 2 * sum2(a, ends, tilt) + sum2(a, ends, tilt - kStep)) / (kStep * kStep);
  if (!(bend > 0)) return std::nullopt;
  return Estimate{tilt, std::sqrt(left2 / points) * std::sqrt(2 / bend)};
}

}  // namespace rondure
