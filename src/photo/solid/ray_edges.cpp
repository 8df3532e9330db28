#include "photo/solid/ray_edges.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

#include "photo/edge/normal_table.hpp"
#include "photo/solid/light_at.hpp"
#include "rondure/core/geometry.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Samples of a ray's profile: finer than the picture's own, so that a step is placed between them; more tell
// nothing new.
// Where no reason stands here, a limit is judgement; as wall_fit.cpp says, of what study and checked by which.
constexpr double kRayStep_px = 0.25;
// A step is fitted within so many px of its steepest place, and within so many of its own blurs: three hold 99.7 % of
// its rise, the cap keeps the next edge out.
constexpr double kWidestWindow_px = 8, kWindowInBlurs = 3;
constexpr double kDarkFloor = 0.01;  // light: below, ratios mean nothing
// |ln| of the light on one side to that on the other: an edge of less (16 %) is not used, one of more (1.8 times)
// counts whole; between them in proportion. By judgement.
constexpr double kLeastRayLogRatio = 0.15, kFullLogRatio = 0.6;
constexpr double kSharpTo = 1.6, kSoftFrom = 2.1;  // in blurs of the camera
// Bounds of a fitted blur: a pixel's own width is 0.29 px as a standard deviation; softer than the other is no edge.
constexpr double kLeastBlur_px = 0.35, kMostBlur_px = 6;

struct Step {
  double place = 0, blur = 1, inside = 0, outside = 0;  // in samples
};

// Least squares of a blurred step to light[from, to).
std::optional<Step> fit_step(const std::vector<double>& light, int from, int to, Step start) {
  const NormalTable& normal = normal_table();
  Step s = start;
  for (int round = 0; round < 8; ++round) {
    Eigen::Matrix4d n = Eigen::Matrix4d::Zero();
    Eigen::Vector4d r = Eigen::Vector4d::Zero();
    const double rise = s.outside - s.inside;
    for (int i = from; i < to; ++i) {
      const double z = (i - s.place) / s.blur;
      const double b = z > 6    ? 1
                       : z < -6 ? 0
                                : normal.cdf(z),
                   g = std::abs(z) > 6 ? 0 : normal.density(z) / s.blur;
      const Eigen::Vector4d row(1 - b, b, -rise * g, -rise * g * z);
      n.noalias() += row * row.transpose();
      r += row * (light[static_cast<std::size_t>(i)] - (s.inside * (1 - b) + s.outside * b));
    }
    n.diagonal().array() += 1e-9 * n.diagonal().maxCoeff();
    const Eigen::Vector4d x = n.ldlt().solve(r);
    if (!x.allFinite()) return {};
    s.inside += x[0], s.outside += x[1];
    s.place += std::clamp(x[2], -s.blur, s.blur);
    s.blur = std::clamp(s.blur + std::clamp(x[3], -0.3 * s.blur, 0.4 * s.blur), kLeastBlur_px / kRayStep_px,
                        kMostBlur_px / kRayStep_px);
    if (s.place < from || s.place >= to) return {};
    if (std::abs(x[2]) + std::abs(x[3]) < 1e-3) break;
  }
  return s;
}

double log_ratio(double inside, double outside) {
  return std::log((std::max(outside, 0.0) + kDarkFloor) / (std::max(inside, 0.0) + kDarkFloor));
}

// All steps of one profile.
std::vector<Step> steps_of(const std::vector<double>& light, double least_log_ratio) {
  const int count = static_cast<int>(light.size());
  std::vector<double> slope(light.size(), 0);
  for (int i = 4; i + 4 < count; ++i)  // difference of means: smoothed by half a pixel
    slope[i] = (light[i + 1] + light[i + 2] + light[i + 3] - light[i - 1] - light[i - 2] - light[i - 3]) / 12;
  const int widest = static_cast<int>(kWidestWindow_px / kRayStep_px);
  std::vector<Step> steps;
  for (int i = 5; i + 5 < count; ++i) {
    const double peak = std::abs(slope[i]);
    if (!(peak > std::abs(slope[i - 1])) || peak < std::abs(slope[i + 1])) continue;
    const double sign = slope[i] > 0 ? 1 : -1;
    // As far as the light keeps rising, and on while it is level: to the next edge.
    const auto walk = [&](int side) {
      int k = i;
      while (std::abs(k - i) < widest && k + side > 4 && k + side + 4 < count) {
        const double next = sign * slope[k + side];
        if (next > sign * slope[k] + 0.02 * peak || next < -0.15 * peak) break;
        k += side;
      }
      return k;
    };
    const int from = walk(-1), to = walk(1) + 1;
    const double inside = light[from], outside = light[to - 1];
    if (std::abs(log_ratio(inside, outside)) < least_log_ratio) continue;
    const double blur = std::clamp(std::abs(outside - inside) / (peak * std::sqrt(2 * kPi)), 1.5, 24.0);
    const int reach = static_cast<int>(std::ceil(kWindowInBlurs * blur)) + 1;
    const auto fitted = fit_step(light, std::max(from, i - reach), std::min(to, i + reach + 1),
                                 {static_cast<double>(i), blur, inside, outside});
    if (fitted && std::abs(fitted->place - i) < 8) steps.push_back(*fitted);
  }
  return steps;
}

double sharpness(double blur_px, double camera_blur_px) {
  const double in_blurs = blur_px / camera_blur_px;
  return std::clamp((kSoftFrom - in_blurs) / (kSoftFrom - kSharpTo), 0.0, 1.0);
}

}  // namespace

RayEdges find_ray_edges(const Picture& picture, const MeasuringPlane& board,
                        const std::vector<float>& light_table, const Eigen::Vector2d& center, double from_mm,
                        double to_mm, int count, double least_log_ratio) {
  RayEdges out;
  out.rays.resize(static_cast<std::size_t>(count));
  if (const auto j = pixel_per_part(board, PartPoint::from(center)))
    out.px_per_mm = std::sqrt(std::abs(j->determinant()));
  const LightAt light(picture, light_table);
  for (int k = 0; k < count; ++k) {
    const double direction = 2 * kPi * k / count;
    const Eigen::Vector2d ray(std::cos(direction), std::sin(direction));
    const auto a = pixel_from_part(board, PartPoint::from(center + from_mm * ray));
    const auto b = pixel_from_part(board, PartPoint::from(center + to_mm * ray));
    if (!a || !b) continue;
    // Straight in the picture; where the lens bends it the exact place is told by the pixel itself.
    const Eigen::Vector2d start(a->x_px, a->y_px), end(b->x_px, b->y_px);
    const double length_px = (end - start).norm();
    if (!(length_px > 8)) continue;
    const Eigen::Vector2d forward = (end - start) / length_px, aside(-forward.y(), forward.x());
    std::vector<double> profile;
    for (double t = 0; t < length_px; t += kRayStep_px) {
      const Eigen::Vector2d p = start + t * forward;
      double sum = 0;
      bool inside = true;
      for (const double off : {-1.0, 0.0, 1.0}) {
        const Eigen::Vector2d q = p + off * aside;
        if (!light.holds(q.x(), q.y())) {
          inside = false;
          break;
        }
        sum += light.at(q.x(), q.y());
      }
      if (!inside) break;
      profile.push_back(sum / 3);
    }
    if (profile.size() < 32) continue;
    for (const Step& step : steps_of(profile, least_log_ratio)) {
      const Eigen::Vector2d pixel = start + step.place * kRayStep_px * forward;
      const auto at = part_from_pixel(board, {pixel.x(), pixel.y()});
      if (!at) continue;
      RayEdge edge{at->vec(),    pixel, step.blur * kRayStep_px,   step.inside,
                   step.outside, 0,     step.outside > step.inside};
      out.rays[k].push_back(edge);
    }
  }
  out.camera_blur_px = board.board_blur_px;
  if (!(out.camera_blur_px > 0)) {
    std::vector<double> blurs;
    for (const auto& ray : out.rays)
      for (const RayEdge& e : ray) blurs.push_back(e.blur_px);
    std::sort(blurs.begin(), blurs.end());
    out.camera_blur_px = blurs.empty() ? 1 : blurs[blurs.size() / 4];
  }
  for (auto& ray : out.rays)
    for (RayEdge& e : ray) {
      const double ratio = std::abs(log_ratio(e.inside, e.outside));
      e.weight = ratio < kLeastRayLogRatio
                     ? 0
                     : std::min(1.0, ratio / kFullLogRatio) * sharpness(e.blur_px, out.camera_blur_px);
    }
  return out;
}

}  // namespace rondure
