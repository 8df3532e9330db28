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
constexpr double kMostShift_px = 2;
// A narrow strip along the inside (chamfer, shaded wall), dark or lit, is filled up by the blur: up to so wide its other
// edge is placed with this one. Its width is so much uncertain beforehand.
constexpr double kWidestStrip_blurs = 4, kStrip_blurs = 1.2, kStripSpread_blurs = 1;
constexpr double kLeastStrip_blurs = 0.3;
constexpr double kStripSlope_ratio = 0.15;  // of the edge's steepest slope: a strip's other edge is so steep

struct Profile {
  std::vector<double> light;
  double start_px = 0;
};

// Steps outwards and inwards from the strongest slope near the outline, as far as no other edge begins.
struct Window {
  int from = 0, to = 0, peak = 0;
  std::optional<int> inner_edge;  // of a narrow strip along the inside; the window begins beyond it
};

// The other edge of a strip that is too narrow to show its own light, with as much of what lies within as belongs to it.
void take_in_strip(const std::vector<double>& slope, double blur_px, Window& w) {
  const int widest = static_cast<int>(kWidestStrip_blurs * blur_px / kStep_px),
            beyond = static_cast<int>(std::ceil(kInwards_blurs * blur_px / kStep_px));
  int inner = w.from;
  for (int i = w.from; i > std::max(1, w.peak - widest); --i)
    if (slope[i] < slope[inner]) inner = i;
  if (slope[inner] > -kStripSlope_ratio * slope[w.peak] || w.peak - inner < 2) return;
  int from = inner;
  while (from > 1 && inner - from < beyond && slope[from - 1] < 0.04 * slope[w.peak] &&
         slope[from - 1] > slope[from] + 0.04 * slope[inner])
    --from;
  if (inner - from < 2) return;
  w.inner_edge = inner, w.from = from;
}

std::optional<Window> window_of(const Profile& p, bool dark_inside, double blur_px) {
  const int count = static_cast<int>(p.light.size());
  std::vector<double> slope(p.light.size(), 0);
  for (int i = 1; i + 1 < count; ++i)
    slope[i] = (dark_inside ? 0.5 : -0.5) * (p.light[i + 1] - p.light[i - 1]);
  const int middle = static_cast<int>(std::lround(-p.start_px / kStep_px));
  Window w{0, 0, middle, {}};
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
  take_in_strip(slope, blur_px, w);
  return w;
}

// Unknowns of a profile: light of what lies within, of the strip, rise to the ground, the ground's slope, place, width.
enum { kWithin, kStrip, kRise, kSlope, kPlace, kWidth, kOfProfile };
using ProfileRow = Eigen::Matrix<double, kOfProfile, 1>;
using ProfileSquare = Eigen::Matrix<double, kOfProfile, kOfProfile>;

// Light at `t` px outwards of the edge, and its derivatives.
double modelled(const ProfileRow& x, double t, double blur_px, ProfileRow& row) {
  const NormalTable& normal = normal_table();
  const double z = std::clamp(t / blur_px, -6.0, 6.0),
               inner_z = std::clamp((t + x[kWidth]) / blur_px, -6.0, 6.0);
  const double step = normal.cdf(z), bell = normal.density(z), ramp = t * step + blur_px * bell;
  const double inner = normal.cdf(inner_z), fall = x[kStrip] - x[kWithin],
               inner_slope = fall * normal.density(inner_z) / blur_px;
  row << 1 - inner, inner, step, ramp, -inner_slope - x[kRise] * bell / blur_px - x[kSlope] * step,
      inner_slope;
  return x[kWithin] + fall * inner + x[kRise] * step + x[kSlope] * ramp;
}

// Where the edge lies, px from the profile's zero.
std::optional<double> place(const Profile& p, const Window& w, double blur_px) {
  ProfileRow x;
  const int darkest = w.inner_edge ? (*w.inner_edge + w.peak) / 2 : w.from;
  const double rise = p.light[w.to - 1] - p.light[darkest];
  x << (w.inner_edge ? p.light[w.from] : p.light[darkest]), p.light[darkest], rise, 0,
      p.start_px + kStep_px * w.peak, w.inner_edge ? kStrip_blurs * blur_px : 0;
  if (std::abs(rise) < 1e-4) return {};
  const auto held_by = [&](double spread) { return std::pow(kNoise_ratio * rise / spread, 2); };
  for (int round = 0; round < 12; ++round) {
    ProfileSquare n = ProfileSquare::Zero();
    ProfileRow r = ProfileRow::Zero(), row;
    for (int i = w.from; i < w.to; ++i) {
      const double miss = p.light[i] - modelled(x, p.start_px + kStep_px * i - x[kPlace], blur_px, row);
      if (!w.inner_edge) row[kWithin] = row[kWidth] = 0, row[kStrip] = 1;  // one level inside
      n.noalias() += row * row.transpose();
      r += row * miss;
    }
    const double slope_held = held_by(kSlope_ratio * rise / blur_px),
                 width_held = held_by(kStripSpread_blurs * blur_px);
    n(kSlope, kSlope) += slope_held, r(kSlope) -= slope_held * x[kSlope];
    if (w.inner_edge) {
      n(kWidth, kWidth) += width_held, r(kWidth) += width_held * (kStrip_blurs * blur_px - x[kWidth]);
    } else {
      n(kWithin, kWithin) = n(kWidth, kWidth) = 1;
    }
    n.diagonal().array() += 1e-10 * n.diagonal().maxCoeff();
    const ProfileRow by = n.ldlt().solve(r);
    if (!by.allFinite()) return {};
    const double moved = std::clamp(by[kPlace], -blur_px, blur_px);
    x += by;
    x[kPlace] += moved - by[kPlace];
    x[kWidth] = w.inner_edge ? std::max(x[kWidth], kLeastStrip_blurs * blur_px) : 0;
    if (!w.inner_edge) x[kWithin] = x[kStrip];
    if (std::abs(by[kPlace]) < 1e-4) break;
  }
  return x[kPlace];
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
  p.start_px = -kStep_px * std::ceil(((kInwards_blurs + kWidestStrip_blurs + 1) * blur_px + 3) / kStep_px);
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
