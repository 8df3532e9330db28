// The light that falls on each pixel. Tile by tile: a grid of four by four points a pixel is carried back
// through the lens onto the board, every edge is drawn there area-true (a half-plane through a small square
// has a closed form), and the exact kernel of lens and pixel sums the grid up to pixels. Tiles without an
// edge take one point a pixel.
#include <Eigen/Dense>
#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>

#include "render/scene.hpp"

namespace rondure::render {
namespace {

constexpr int kSub = 4;    // grid points per pixel and axis
constexpr int kTile = 48;  // px

// Share of the unit square centred at distance d inside a half-plane (d > 0: centre inside) with edge normal
// proportional to (a, b); d in units of the square along the normal.
double half_plane_share(double d, double a, double b) {
  a = std::abs(a), b = std::abs(b);
  if (a < b) std::swap(a, b);
  const double outer = 0.5 * (a + b), inner = 0.5 * (a - b);
  if (d >= outer) return 1;
  if (d <= -outer) return 0;
  const double m = std::abs(d);
  double share;
  if (m <= inner)
    share = 0.5 + m / a;
  else
    share = 1 - (outer - m) * (outer - m) / (2 * a * b);
  return d >= 0 ? share : 1 - share;
}

class Tracer {
public:
  explicit Tracer(const Scene& scene) : scene_(scene), camera_(scene.camera.position_mm()) {
    Eigen::Matrix3d h;  // normalised camera coordinates from board
    h << scene.camera.rotation.col(0), scene.camera.rotation.col(1), scene.camera.translation_mm;
    board_from_camera_ = h.inverse();
  }

  Eigen::Vector2d ground(double x_px, double y_px) const {
    const Lens& lens = scene_.camera.lens;
    const double xd = (x_px - lens.center_x_px) / lens.focal_x_px,
                 yd = (y_px - lens.center_y_px) / lens.focal_y_px;
    double x = xd, y = yd;
    const auto& [k1, k2, p1, p2, k3] = lens.distortion;
    if (k1 != 0 || k2 != 0 || p1 != 0 || p2 != 0 || k3 != 0) {
      for (int i = 0; i < 30; ++i) {  // fixed point; contracts for any lens that images the plane once
        const double r2 = x * x + y * y, radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3));
        const double nx = (xd - 2 * p1 * x * y - p2 * (r2 + 2 * x * x)) / radial;
        const double ny = (yd - p1 * (r2 + 2 * y * y) - 2 * p2 * x * y) / radial;
        const double step = std::abs(nx - x) + std::abs(ny - y);
        x = nx, y = ny;
        if (step < 1e-13) break;
      }
    }
    return (board_from_camera_ * Eigen::Vector3d(x, y, 1)).hnormalized();
  }
  // The ray of ground point p at height z.
  Eigen::Vector2d at_height(const Eigen::Vector2d& p, double z_mm) const {
    return p + (camera_.head<2>() - p) * (z_mm / camera_.z());
  }
  double shrink(double z_mm) const { return 1 - z_mm / camera_.z(); }

private:
  const Scene& scene_;
  Eigen::Vector3d camera_;
  Eigen::Matrix3d board_from_camera_;
};

// Share of the layer at a ground point; `j` = d(ground mm)/d(grid square).
double solid_share(const Layer& layer, const Eigen::Vector2d& p, const Eigen::Matrix2d& j, double shrink) {
  const Eigen::Vector2d v = p - layer.center;
  const double rho = v.norm(), scale = j.norm() * shrink;
  const double rough = rho - layer.profile.radius_mm;
  double room = 3 * scale;
  for (const Lobe& lobe : layer.profile.lobes) room += std::abs(lobe.amplitude_mm);
  for (const Bump& bump : layer.profile.bumps) room += std::abs(bump.height_mm);
  if (rough > room) return 0;
  if (rough < -room || rho < 1e-12) return 1;
  double slope = 0;
  const double f = rho - layer.profile.at(std::atan2(v.y(), v.x()), &slope);
  const Eigen::Vector2d along(v.x() / rho, v.y() / rho), across(-along.y(), along.x());
  const Eigen::Vector2d g = shrink * (j.transpose() * (along - slope / rho * across));
  const double norm = g.norm();
  // A curved edge cuts off s^2 / 24 R less of a square of side s than its tangent does, on average.
  const double bend = norm * norm / (24 * layer.profile.radius_mm);
  return half_plane_share(-(f + bend) / norm, g.x() / norm, g.y() / norm);
}

double card_share(const Layer& layer, const Eigen::Vector2d& p, const Eigen::Matrix2d& j) {
  double share = 1;
  for (int axis = 0; axis < 2; ++axis) {
    const Eigen::Vector2d g = j.row(axis).transpose();
    const double norm = g.norm(), lo = std::min(layer.center[axis], layer.end[axis]),
                 hi = std::max(layer.center[axis], layer.end[axis]);
    share *= half_plane_share((p[axis] - lo) / norm, g.x() / norm, g.y() / norm) *
             half_plane_share((hi - p[axis]) / norm, g.x() / norm, g.y() / norm);
  }
  return share;
}

double layer_share(const Layer& layer, const Tracer& tracer, const Eigen::Vector2d& ground,
                   const Eigen::Matrix2d& j) {
  if (layer.kind == Layer::Kind::kCard) return card_share(layer, ground, j);
  const Eigen::Vector2d low = layer.z_low_mm == 0 ? ground : tracer.at_height(ground, layer.z_low_mm);
  const Eigen::Vector2d high = layer.z_high_mm == 0 ? ground : tracer.at_height(ground, layer.z_high_mm);
  const double shrink_low = tracer.shrink(layer.z_low_mm), shrink_high = tracer.shrink(layer.z_high_mm);
  if (layer.kind == Layer::Kind::kSpot) {
    const Eigen::Vector2d axis = layer.end - layer.center;
    const double len2 = axis.squaredNorm();
    const double t = len2 > 0 ? std::clamp((high - layer.center).dot(axis) / len2, 0.0, 1.0) : 0.0;
    Layer round = layer;
    round.center = layer.center + t * axis;
    return solid_share(round, high, j, shrink_high);
  }
  if (layer.z_low_mm == layer.z_high_mm) return solid_share(layer, high, j, shrink_high);
  const double a = solid_share(layer, low, j, shrink_low), b = solid_share(layer, high, j, shrink_high);
  if (layer.kind == Layer::Kind::kHole) return std::min(a, b);
  // The ray's way between the rims passes nearest the axis somewhere in between.
  const Eigen::Vector2d way = high - low;
  const double t = way.squaredNorm() > 0 ? (layer.center - low).dot(way) / way.squaredNorm() : 0.0;
  double share = std::max(a, b);
  if (t > 0 && t < 1)
    share =
        std::max(share, solid_share(layer, low + t * way, j, shrink_low + t * (shrink_high - shrink_low)));
  return share;
}

bool is_black(const Board& board, double column,
              double row) {  // square between inner corners column and column + 1
  if (column < -1 || column > board.columns - 1 || row < -1 || row > board.rows - 1) return false;
  return (static_cast<long>(column + row) % 2 == 0) == board.first_black;
}

// Share of its light that white paper keeps beside ink.
double paper_share(const Board& board, const Eigen::Vector2d& p) {
  const double x = p.x() / board.square_mm, y = -p.y() / board.square_mm;
  double nearest_mm = 1e9;
  for (double row = std::floor(y) - 1; row <= std::floor(y) + 1; ++row)
    for (double column = std::floor(x) - 1; column <= std::floor(x) + 1; ++column)
      if (is_black(board, column, row))
        nearest_mm =
            std::min(nearest_mm, board.square_mm * std::hypot(std::max({0.0, column - x, x - column - 1}),
                                                              std::max({0.0, row - y, y - row - 1})));
  return 1 - 0.5 * std::exp(-std::max(0.0, nearest_mm - board.ink_mm) / board.spread_mm);
}

// Share of black ink at a ground point.
double ink_share(const Board& board, const Eigen::Vector2d& p, const Eigen::Matrix2d& j) {
  const double x = p.x() / board.square_mm, y = -p.y() / board.square_mm;
  const double i = std::round(x), k = std::round(y);
  const auto black = [&](double column, double row) { return is_black(board, column, row); };
  const Eigen::Vector2d gx = j.row(0).transpose(), gy = j.row(1).transpose();
  const double nx = gx.norm(), ny = gy.norm();
  const double dx = (x - i) * board.square_mm, dy = (y - k) * board.square_mm;
  const auto share_x = [&](double d) { return half_plane_share(d / nx, gx.x() / nx, gx.y() / nx); };
  const auto share_y = [&](double d) { return half_plane_share(d / ny, gy.x() / ny, gy.y() / ny); };
  const double right = share_x(dx + board.ink_mm), left = share_x(board.ink_mm - dx);
  const double below = share_y(dy + board.ink_mm), above = share_y(board.ink_mm - dy);
  const double both_x = std::max(0.0, right + left - 1), both_y = std::max(0.0, below + above - 1);
  double ink = 0;
  if (black(i, k)) ink += right * below;
  if (black(i - 1, k)) ink += left * below;
  if (black(i, k - 1)) ink += right * above;
  if (black(i - 1, k - 1)) ink += left * above;
  if (board.ink_mm > 0 && ((black(i, k) && black(i - 1, k - 1)) || (black(i - 1, k) && black(i, k - 1))))
    ink -= both_x * both_y;
  return std::clamp(ink, 0.0, 1.0);
}

double light_factor(const Scene& scene, double x_px, double y_px, const Eigen::Vector2d& ground,
                    bool on_ground) {
  const double u = 2 * (x_px + 0.5) / scene.camera.width_px - 1,
               v = 1 - 2 * (y_px + 0.5) / scene.camera.height_px;
  double f = scene.light.exposure * (1 + scene.light.fall_x * u + scene.light.fall_y * v) *
             (1 - 0.5 * scene.light.vignette * (u * u + v * v));
  if (on_ground)
    for (const Shadow& s : scene.light.shadows) {
      const double d = ((ground - s.center).norm() - s.radius_mm) / s.softness_mm;
      f *= 1 - s.depth * 0.5 * std::erfc(2 * d);
    }
  return std::max(f, 0.0);
}

// Weights of the grid points of `reach` pixels either side for one axis: Gaussian times the pixel's box;
// sum 1.
std::vector<double> axis_kernel(double sigma_px, int reach_px) {
  std::vector<double> w(static_cast<std::size_t>((2 * reach_px + 1) * kSub));
  double sum = 0;
  for (int n = 0; n < static_cast<int>(w.size()); ++n) {
    const double x = (n + 0.5) / kSub - reach_px - 0.5;  // px from the pixel's centre
    if (sigma_px > 0) {
      // The pixel's box is the mean of kSub grid squares, the Gaussian is sampled between squares.
      double v = 0;
      for (int b = 0; b < kSub; ++b) {
        const double t = (x - ((b + 0.5) / kSub - 0.5)) / sigma_px;
        v += std::exp(-0.5 * t * t);
      }
      w[n] = v;
    } else {
      w[n] = std::abs(x) < 0.5 ? 1 : 0;
    }
    sum += w[n];
  }
  for (double& v : w) v /= sum;
  return w;
}

// Grid-point weights of a round spot or a smear, on the grid itself; empty = none. Odd side length.
Eigen::MatrixXf spread_kernel(const Optics& optics) {
  const double r = optics.defocus_px * kSub, s = optics.smear_px * kSub;
  if (r <= 0 && s <= 0) return {};
  const int half = static_cast<int>(std::ceil(r + s)) + 1;
  Eigen::MatrixXf k = Eigen::MatrixXf::Zero(2 * half + 1, 2 * half + 1);
  constexpr int kFine = 8;
  for (int y = -half; y <= half; ++y)
    for (int x = -half; x <= half; ++x)
      for (int b = 0; b < kFine; ++b)
        for (int a = 0; a < kFine; ++a) {
          const double fx = x + (a + 0.5) / kFine - 0.5, fy = y + (b + 0.5) / kFine - 0.5;
          const bool inside = r > 0 ? fx * fx + fy * fy < r * r : (fx >= 0 && fx < s && std::abs(fy) < 0.5);
          k(y + half, x + half) += inside ? 1.0f : 0.0f;
        }
  return k / k.sum();
}

class TileRenderer {
public:
  TileRenderer(const Scene& scene, std::vector<float>& light)
      : scene_(scene), light_(light), tracer_(scene), spread_(spread_kernel(scene.optics)) {
    const double extra = scene.optics.defocus_px + scene.optics.smear_px;
    reach_ = scene.optics.blur_px > 0 ? static_cast<int>(std::ceil(5 * scene.optics.blur_px + 0.5)) : 0;
    margin_ = reach_ + (extra > 0 ? static_cast<int>(std::ceil(extra)) + 2 : 0);
    kernel_ = axis_kernel(scene.optics.blur_px, reach_);
  }

  void tile(int x0, int y0) {
    const int w = std::min(kTile, scene_.camera.width_px - x0),
              h = std::min(kTile, scene_.camera.height_px - y0);
    if (!near_edge(x0, y0, w, h)) return plain_tile(x0, y0, w, h);
    const int gw = (w + 2 * margin_) * kSub, gh = (h + 2 * margin_) * kSub;
    const auto at = [&](int gx, int gy) {
      return Eigen::Vector2d(x0 - margin_ + (gx + 0.5) / kSub - 0.5, y0 - margin_ + (gy + 0.5) / kSub - 0.5);
    };
    for (int c = 0; c < scene_.channels; ++c) grid_[c].resize(gh, gw);
    // Ground points are exact at every 4th grid point (pixel pitch) and straight in between.
    const int nw = w + 2 * margin_ + 1, nh = h + 2 * margin_ + 1;
    nodes_.resize(static_cast<std::size_t>(nw * nh));
    for (int y = 0; y < nh; ++y)
      for (int x = 0; x < nw; ++x)
        nodes_[y * nw + x] = tracer_.ground(x0 - margin_ + x - 0.5, y0 - margin_ + y - 0.5);
    for (int gy = 0; gy < gh; ++gy) {
      const int ny = gy / kSub;
      const double ty = (gy % kSub + 0.5) / kSub;
      for (int gx = 0; gx < gw; ++gx) {
        const int nx = gx / kSub;
        const double tx = (gx % kSub + 0.5) / kSub;
        const Eigen::Vector2d &n00 = nodes_[ny * nw + nx], &n10 = nodes_[ny * nw + nx + 1],
                              &n01 = nodes_[(ny + 1) * nw + nx], &n11 = nodes_[(ny + 1) * nw + nx + 1];
        const Eigen::Vector2d top = n00 + tx * (n10 - n00), bottom = n01 + tx * (n11 - n01);
        const Eigen::Vector2d ground = top + ty * (bottom - top);
        Eigen::Matrix2d j;
        j.col(0) = ((1 - ty) * (n10 - n00) + ty * (n11 - n01)) / kSub;
        j.col(1) = (bottom - top) / kSub;
        const Eigen::Vector2d px = at(gx, gy);
        shade(px.x(), px.y(), ground, j);
        for (int c = 0; c < scene_.channels; ++c) grid_[c](gy, gx) = static_cast<float>(color_[c]);
      }
    }
    for (int c = 0; c < scene_.channels; ++c) sum_up(grid_[c], x0, y0, w, h, c);
  }

private:
  // Light of one grid point into color_.
  void shade(double x_px, double y_px, const Eigen::Vector2d& ground, const Eigen::Matrix2d& j) {
    Level ground_level = scene_.ground;
    if (scene_.board) {
      const double ink = ink_share(*scene_.board, ground, j);
      const double kept = scene_.board->spread_mm > 0 && ink < 1 ? paper_share(*scene_.board, ground) : 1;
      for (int c = 0; c < 3; ++c)
        ground_level[c] = ink * scene_.board->black[c] + (1 - ink) * kept * scene_.board->white[c];
    }
    const double on_ground = light_factor(scene_, x_px, y_px, ground, true);
    const double on_part = light_factor(scene_, x_px, y_px, ground, false);
    for (int c = 0; c < 3; ++c) color_[c] = ground_level[c] * on_ground;
    for (const Layer& layer : scene_.layers) {
      const double share = layer_share(layer, tracer_, ground, j);
      if (share <= 0) continue;
      for (int c = 0; c < 3; ++c) {
        const double under =
            layer.kind == Layer::Kind::kHole ? ground_level[c] * on_ground : layer.level[c] * on_part;
        color_[c] += share * (under - color_[c]);
      }
    }
  }

  bool near_edge(int x0, int y0, int w, int h) const {
    const Eigen::Vector2d middle = tracer_.ground(x0 + 0.5 * w, y0 + 0.5 * h);
    double reach = 0;
    for (const double sx : {-1.0, 1.0})
      for (const double sy : {-1.0, 1.0})
        reach = std::max(reach, (tracer_.ground(x0 + 0.5 * w + sx * (0.5 * w + margin_ + 1),
                                                y0 + 0.5 * h + sy * (0.5 * h + margin_ + 1)) -
                                 middle)
                                    .norm());
    if (const auto& b = scene_.board) {
      const double s = b->square_mm + std::abs(b->ink_mm);
      if (middle.x() > -s - reach && middle.x() < (b->columns - 1) * b->square_mm + s + reach &&
          middle.y() < s + reach && middle.y() > -(b->rows - 1) * b->square_mm - s - reach)
        return true;
    }
    for (const Layer& layer : scene_.layers) {
      if (layer.kind == Layer::Kind::kCard) {
        const Eigen::Array2d lo = layer.center.cwiseMin(layer.end), hi = layer.center.cwiseMax(layer.end);
        const Eigen::Array2d p = middle;
        if ((p > lo - reach).all() && (p < hi + reach).all() &&
            !((p > lo + reach).all() && (p < hi - reach).all()))
          return true;
        continue;
      }
      double room = reach;
      for (const Lobe& lobe : layer.profile.lobes) room += std::abs(lobe.amplitude_mm);
      for (const Bump& bump : layer.profile.bumps) room += std::abs(bump.height_mm);
      for (const double z : {layer.z_low_mm, layer.z_high_mm}) {
        const Eigen::Vector2d p = tracer_.at_height(middle, z);
        const Eigen::Vector2d axis = layer.kind == Layer::Kind::kSpot
                                         ? Eigen::Vector2d(layer.end - layer.center)
                                         : Eigen::Vector2d(0, 0);
        const double len2 = axis.squaredNorm();
        const double t = len2 > 0 ? std::clamp((p - layer.center).dot(axis) / len2, 0.0, 1.0) : 0.0;
        const double d = (p - layer.center - t * axis).norm();
        const double rims =
            (tracer_.at_height(middle, layer.z_low_mm) - tracer_.at_height(middle, layer.z_high_mm)).norm();
        if (std::abs(d - layer.profile.radius_mm) < room + rims) return true;
      }
    }
    for (const Shadow& s : scene_.light.shadows)
      if (std::abs((middle - s.center).norm() - s.radius_mm) < reach + 2 * s.softness_mm) return true;
    return false;
  }

  void plain_tile(int x0, int y0, int w, int h) {
    for (int y = y0; y < y0 + h; ++y)
      for (int x = x0; x < x0 + w; ++x) {
        const Eigen::Vector2d ground = tracer_.ground(x, y);
        const Eigen::Matrix2d j = Eigen::Matrix2d::Identity() * 1e-3;
        shade(x, y, ground, j);
        for (int c = 0; c < scene_.channels; ++c)
          light_[(static_cast<std::size_t>(y) * scene_.camera.width_px + x) * scene_.channels + c] =
              static_cast<float>(color_[c]);
      }
  }

  void sum_up(Eigen::MatrixXf& grid, int x0, int y0, int w, int h, int channel) {
    if (spread_.size() > 0) spread(grid);
    const int gh = static_cast<int>(grid.rows()), first = (margin_ - reach_) * kSub,
              taps = static_cast<int>(kernel_.size());
    rows_.resize(gh, w);  // summed along x
    rows_.setZero();
    for (int x = 0; x < w; ++x)
      for (int n = 0; n < taps; ++n)
        rows_.col(x) += static_cast<float>(kernel_[n]) * grid.col(x * kSub + first + n);
    for (int x = 0; x < w; ++x)
      for (int y = 0; y < h; ++y) {
        double sum = 0;
        const float* column = rows_.data() + static_cast<std::size_t>(x) * gh + y * kSub + first;
        for (int n = 0; n < taps; ++n) sum += kernel_[n] * column[n];
        light_[(static_cast<std::size_t>(y0 + y) * scene_.camera.width_px + x0 + x) * scene_.channels +
               channel] = static_cast<float>(sum);
      }
  }

  void spread(Eigen::MatrixXf& grid) const {
    const int half = static_cast<int>(spread_.rows()) / 2;
    Eigen::MatrixXf out = Eigen::MatrixXf::Zero(grid.rows(), grid.cols());
    for (int dx = -half; dx <= half; ++dx)
      for (int dy = -half; dy <= half; ++dy) {
        const float k = spread_(dy + half, dx + half);
        if (k == 0) continue;
        const auto rows = grid.rows() - 2 * half, cols = grid.cols() - 2 * half;
        out.block(half, half, rows, cols) += k * grid.block(half - dy, half - dx, rows, cols);
      }
    grid = out;
  }

  const Scene& scene_;
  std::vector<float>& light_;
  Tracer tracer_;
  Eigen::MatrixXf spread_;
  int reach_ = 0, margin_ = 0;
  std::vector<double> kernel_;
  std::array<Eigen::MatrixXf, 3> grid_;
  Eigen::MatrixXf rows_;
  std::vector<Eigen::Vector2d> nodes_;
  std::array<double, 3> color_{};
};

}  // namespace

std::vector<float> render_light(const Scene& scene) {
  std::vector<float> light(static_cast<std::size_t>(scene.camera.width_px) * scene.camera.height_px *
                           scene.channels);
  const int across = (scene.camera.width_px + kTile - 1) / kTile,
            down = (scene.camera.height_px + kTile - 1) / kTile;
  std::atomic<int> next{0};
  const auto work = [&] {
    TileRenderer renderer(scene, light);
    for (int n = next++; n < across * down; n = next++) renderer.tile(n % across * kTile, n / across * kTile);
  };
  std::vector<std::thread> threads;
  for (unsigned n = 1; n < std::max(1u, std::thread::hardware_concurrency()); ++n) threads.emplace_back(work);
  work();
  for (std::thread& thread : threads) thread.join();
  return light;
}

}  // namespace rondure::render
