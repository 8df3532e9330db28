#include "photo/solid/outline_edges.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

#include "photo/edge/normal_table.hpp"
#include "photo/solid/light_at.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr double kStep_px = 0.5, kProbe_mm = 0.05;
constexpr double kInwards_blurs = 2.2, kOutwards_blurs = 4;
constexpr double kSlope_ratio = 0.1;   // of the rise in one blur: prior of the ground's slope
constexpr double kNoise_ratio = 0.03;  // of the rise
constexpr double kMostShift_px = 1.5;

struct Profile {
  std::vector<double> light;
  double start_px = 0;
};

// Steps outwards and inwards from the strongest slope near the outline, as far as no other edge begins.
struct Window {
  int from = 0, to = 0, peak = 0;
};

std::optional<Window> window_of(const Profile& p, bool dark_inside, double blur_px) {
  const int count = static_cast<int>(p.light.size());
  std::vector<double> slope(p.light.size(), 0);
  for (int i = 1; i + 1 < count; ++i)
    slope[i] = (dark_inside ? 0.5 : -0.5) * (p.light[i + 1] - p.light[i - 1]);
  const int middle = static_cast<int>(std::lround(-p.start_px / kStep_px));
  Window w{0, 0, middle};
  for (int i = middle - 3; i <= middle + 3; ++i)
    if (slope[i] > slope[w.peak]) w.peak = i;
  const double peak = slope[w.peak];
  if (!(peak > 0)) return {};
  const auto walk = [&](int side, int most) {
    int k = w.peak;
    while (std::abs(k - w.peak) < most && k + side > 0 && k + side + 1 < count) {
      const double next = slope[k + side];
      if (next > slope[k] + 0.04 * peak || next < -0.15 * peak) break;
      k += side;
    }
    return k;
  };
  w.from = walk(-1, static_cast<int>(std::ceil((kInwards_blurs * blur_px + 0.5) / kStep_px)));
  w.to = walk(1, static_cast<int>(std::ceil((kOutwards_blurs * blur_px + 1) / kStep_px))) + 1;
  if (w.to - w.from < 6) return {};
  return w;
}

// Where the edge lies, px from the profile's zero.
std::optional<double> place(const Profile& p, const Window& w, double blur_px) {
  const NormalTable& normal = normal_table();
  double d = p.start_px + kStep_px * w.peak;
  double in = p.light[w.from], rise = p.light[w.to - 1] - in, slope = 0;
  if (std::abs(rise) < 1e-4) return {};
  const double held = std::pow(kNoise_ratio * rise, 2) / std::pow(kSlope_ratio * rise / blur_px, 2);
  for (int round = 0; round < 8; ++round) {
    Eigen::Matrix4d n = Eigen::Matrix4d::Zero();
    Eigen::Vector4d r = Eigen::Vector4d::Zero();
    for (int i = w.from; i < w.to; ++i) {
      const double t = p.start_px + kStep_px * i - d, z = std::clamp(t / blur_px, -6.0, 6.0);
      const double step = normal.cdf(z), bell = normal.density(z), ramp = t * step + blur_px * bell;
      const Eigen::Vector4d row(1, step, ramp, -rise * bell / blur_px - slope * step);
      n.noalias() += row * row.transpose();
      r += row * (p.light[i] - in - rise * step - slope * ramp);
    }
    n(2, 2) += held, r(2) -= held * slope;
    n.diagonal().array() += 1e-10 * n.diagonal().maxCoeff();
    const Eigen::Vector4d x = n.ldlt().solve(r);
    if (!x.allFinite()) return {};
    in += x[0], rise += x[1], slope += x[2];
    d += std::clamp(x[3], -blur_px, blur_px);
    if (std::abs(x[3]) < 1e-4) break;
  }
  return d;
}

}  // namespace

RayEdges place_across(const Picture& picture, const MeasuringPlane& board,
                      const std::vector<float>& light_table, const CameraPlace& camera, const WallFit& fit,
                      const RayEdges& rays) {
  RayEdges out = rays;
  for (auto& ray : out.rays) ray.clear();
  const LightAt light(picture, light_table);
  const SeenOutline outline(camera, fit.wall);
  std::vector<double> blurs;
  for (const ChosenEdge& c : fit.chosen) blurs.push_back(c.edge->blur_px);
  if (blurs.empty()) return out;
  std::sort(blurs.begin(), blurs.end());
  const double blur_px =
      std::clamp(blurs[blurs.size() / 4], 0.8 * rays.camera_blur_px, 1.05 * rays.camera_blur_px);
  Profile p;
  p.start_px = -kStep_px * std::ceil(((kInwards_blurs + 1) * blur_px + 3) / kStep_px);
  const int count =
      static_cast<int>(std::ceil(((kOutwards_blurs + 1) * blur_px + 4 - p.start_px) / kStep_px));
  for (const ChosenEdge& c : fit.chosen) {
    const OutlineDistance near = outline.nearest(c.edge->at);
    const Eigen::Vector2d at = c.edge->at - near.distance_mm * near.normal;
    const auto a = pixel_from_part(board, PartPoint::from(at));
    const auto b = pixel_from_part(board, PartPoint::from(at + kProbe_mm * near.normal));
    if (!a || !b) continue;
    const Eigen::Vector2d zero(a->x_px, a->y_px), probe(b->x_px - a->x_px, b->y_px - a->y_px);
    const Eigen::Vector2d forward = probe.normalized(), aside(-forward.y(), forward.x());
    p.light.clear();
    bool inside = true;
    for (int i = 0; i < count && inside; ++i) {
      double sum = 0;
      for (int k = -2; k <= 2; ++k) {
        const Eigen::Vector2d q = zero + (p.start_px + kStep_px * i) * forward + k * aside;
        if (!(inside = light.holds(q.x(), q.y()))) break;
        sum += light.at(q.x(), q.y());
      }
      p.light.push_back(sum / 5);
    }
    if (!inside) continue;
    const auto window = window_of(p, c.edge->dark_inside, blur_px);
    if (!window) continue;
    const auto shift_px = place(p, *window, blur_px);
    if (!shift_px || std::abs(*shift_px - c.miss_px) > kMostShift_px) continue;
    RayEdge edge = *c.edge;
    edge.at = at + *shift_px * kProbe_mm / probe.norm() * near.normal;
    edge.pixel = zero + *shift_px * forward;
    out.rays[static_cast<std::size_t>(c.ray)].push_back(edge);
  }
  return out;
}

}  // namespace rondure
