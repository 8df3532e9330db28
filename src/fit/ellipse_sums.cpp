#include "ellipse_sums.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "rondure/core/vector_clones.hpp"

// Compiled with sums in any order (see src/CMakeLists.txt). Points in the frame of the ellipse's axes.

namespace rondure {
namespace {

// Points at once: the five numbers of each, 10 KB, stay in the nearest cache. By judgement; study_fit_speed measures the time.
constexpr std::size_t kBlock = 256;
constexpr double kFootDone = 1e-6;  // third Newton step this small: the foot is good to its square
static_assert(sizeof(PartPoint) == 2 * sizeof(double));

struct Flat {
  double ox, oy, cx, cy, ct, st, a, b;
};

struct EllipseBlock {
  alignas(64) double x[kBlock], y[kBlock], c[kBlock], s[kBlock], open[kBlock];
};

// gradient 5, Gauss-Newton 15, correction 15, chi2, ssq
constexpr std::size_t kSums = 37;
using Sums = std::array<double, kSums>;

// One Newton step of a foot.
RONDURE_INLINE double foot_step(double x, double y, double a, double b, double& c, double& s) {
  const double hx = x - a * c, hy = y - b * s;
  const double slope = a * a * s * s + b * b * c * c + hx * a * c + hy * b * s;
  const double step = (b * c * hy - a * s * hx) / slope;
  const double cc = c - s * step, ss = s + c * step, norm = 1 / std::sqrt(cc * cc + ss * ss);
  c = cc * norm, s = ss * norm;
  return step;
}

// Into the axes' frame, and the feet by Newton from the point's own parameter (exact for points on the
// ellipse). Returns how many did not settle.
RONDURE_INLINE double feet(const double* xy, std::size_t n, const Flat& e, EllipseBlock& k) {
  for (std::size_t i = 0; i < n; ++i) k.x[i] = xy[2 * i] - e.ox, k.y[i] = xy[2 * i + 1] - e.oy;
  double open = 0;
  const double a = e.a, b = e.b, ia = 1 / a, ib = 1 / b;
  for (std::size_t i = 0; i < n; ++i) {
    const double dx = k.x[i] - e.cx, dy = k.y[i] - e.cy;
    const double x = e.ct * dx + e.st * dy, y = e.ct * dy - e.st * dx;
    double c = x * ia, s = y * ib;
    const double r2 = c * c + s * s, first = 1 / std::sqrt(r2 + 1e-300);
    c *= first, s *= first;
    foot_step(x, y, a, b, c, s);
    foot_step(x, y, a, b, c, s);
    const double step = foot_step(x, y, a, b, c, s);
    // Open where the last step was not small, the point is far inside, or the foot lies beyond an axis.
    double last = step * step;
    last = last > 0.04 - r2 ? last : 0.04 - r2;
    last = last > -c * x * ia ? last : -c * x * ia;
    last = last > -s * y * ib ? last : -s * y * ib;
    k.x[i] = x, k.y[i] = y, k.c[i] = c, k.s[i] = s;
    k.open[i] = last;
  }
  for (std::size_t i = 0; i < n; ++i) open += k.open[i] <= kFootDone * kFootDone ? 0.0 : 1.0;
  return open;
}

template <bool kWeighted>
RONDURE_INLINE void add_block(const EllipseBlock& k, const double* w, std::size_t n, const Flat& e,
                              Sums& total) {
  double g0 = 0, g1 = 0, g2 = 0, g3 = 0, g4 = 0, chi2 = 0, ssq = 0;
  double n00 = 0, n01 = 0, n02 = 0, n03 = 0, n04 = 0, n11 = 0, n12 = 0, n13 = 0, n14 = 0, n22 = 0, n23 = 0,
         n24 = 0, n33 = 0, n34 = 0, n44 = 0;
  double c00 = 0, c01 = 0, c02 = 0, c03 = 0, c04 = 0, c11 = 0, c12 = 0, c13 = 0, c14 = 0, c22 = 0, c23 = 0,
         c24 = 0, c33 = 0, c34 = 0, c44 = 0;
  const double a = e.a, b = e.b;
  for (std::size_t i = 0; i < n; ++i) {
    const double c = k.c[i], s = k.s[i];
    const double tx = -a * s, ty = b * c, length = std::sqrt(tx * tx + ty * ty), inverse = 1 / length;
    const double nx = ty * inverse, ny = -tx * inverse;
    const double d = nx * (k.x[i] - a * c) + ny * (k.y[i] - b * s);
    // n.P_k, t.P_k (t = (-ny, nx)) and n.T_k for k = m, p, q; for x and y: n and t themselves, and 0
    const double jm = nx * c + ny * s, jp = nx * c - ny * s, jq = nx * s + ny * c;
    const double tm = nx * s - ny * c, tp = -ny * c - nx * s, tq = nx * c - ny * s;
    const double um = ny * c - nx * s, up = -nx * s - ny * c, uq = nx * c - ny * s;
    const double wi = kWeighted ? w[i] : 1.0;
    const double scale = 1 / (length * length + d * a * b * inverse);
    const double h0 = -length * ny, h1 = length * nx, h2 = length * tm - d * um, h3 = length * tp - d * up,
                 h4 = length * tq - d * uq;
    const double wd = wi * d, ws = wi * scale;
    chi2 += wd * d;
    if constexpr (kWeighted) ssq += d * d;
    g0 += wd * nx, g1 += wd * ny, g2 += wd * jm, g3 += wd * jp, g4 += wd * jq;
    const double w0 = wi * nx, w1 = wi * ny, w2 = wi * jm, w3 = wi * jp, w4 = wi * jq;
    n00 += w0 * nx, n01 += w0 * ny, n02 += w0 * jm, n03 += w0 * jp, n04 += w0 * jq;
    n11 += w1 * ny, n12 += w1 * jm, n13 += w1 * jp, n14 += w1 * jq;
    n22 += w2 * jm, n23 += w2 * jp, n24 += w2 * jq, n33 += w3 * jp, n34 += w3 * jq, n44 += w4 * jq;
    const double t0 = wi * -ny, t1 = wi * nx, t2 = wi * tm, t3 = wi * tp, t4 = wi * tq;
    const double k0 = ws * h0, k1 = ws * h1, k2 = ws * h2, k3 = ws * h3, k4 = ws * h4;
    c00 += t0 * -ny - k0 * h0, c01 += t0 * nx - k0 * h1, c02 += t0 * tm - k0 * h2, c03 += t0 * tp - k0 * h3,
        c04 += t0 * tq - k0 * h4;
    c11 += t1 * nx - k1 * h1, c12 += t1 * tm - k1 * h2, c13 += t1 * tp - k1 * h3, c14 += t1 * tq - k1 * h4;
    c22 += t2 * tm - k2 * h2, c23 += t2 * tp - k2 * h3, c24 += t2 * tq - k2 * h4;
    c33 += t3 * tp - k3 * h3, c34 += t3 * tq - k3 * h4, c44 += t4 * tq - k4 * h4;
  }
  if constexpr (!kWeighted) ssq = chi2;
  const Sums block{g0,  g1,  g2,  g3,  g4,  n00, n01, n02, n03, n04,  n11, n12, n13,
                   n14, n22, n23, n24, n33, n34, n44, c00, c01, c02,  c03, c04, c11,
                   c12, c13, c14, c22, c23, c24, c33, c34, c44, chi2, ssq};
  for (std::size_t j = 0; j < kSums; ++j) total[j] += block[j];
}

// Feet that Newton did not settle: points far from the outline.
void settle(EllipseBlock& k, std::size_t n, const Flat& e) {
  for (std::size_t i = 0; i < n; ++i) {
    if (k.open[i] <= kFootDone * kFootDone) continue;
    const Eigen::Vector2d foot = nearest_on_ellipse(e.a, e.b, k.x[i], k.y[i]);
    k.c[i] = foot.x(), k.s[i] = foot.y();
  }
}

template <bool kWeighted>
RONDURE_INLINE void add_all(const double* xy, const double* w, std::size_t n, const Flat& e, Sums& total) {
  EllipseBlock block;
  for (std::size_t first = 0; first < n; first += kBlock) {
    const std::size_t count = std::min(kBlock, n - first);
    if (feet(xy + 2 * first, count, e, block) > 0) settle(block, count, e);
    add_block<kWeighted>(block, kWeighted ? w + first : nullptr, count, e, total);
  }
}

RONDURE_VECTOR_CLONES void plain(const double* xy, const double*, std::size_t n, const Flat& e, Sums& total) {
  add_all<false>(xy, nullptr, n, e, total);
}
RONDURE_VECTOR_CLONES void weighted(const double* xy, const double* w, std::size_t n, const Flat& e,
                                    Sums& total) {
  add_all<true>(xy, w, n, e, total);
}

EllipseMatrix symmetric(const double* upper) {
  EllipseMatrix m;
  for (int i = 0; i < 5; ++i)
    for (int j = i; j < 5; ++j) m(i, j) = m(j, i) = *upper++;
  return m;
}

}  // namespace

EllipseSums ellipse_sums(std::span<const PartPoint> points, std::span<const double> weights,
                         const RegularEllipse& ellipse) {
  const double angle = ellipse.major_axis_rad(), ct = std::cos(angle), st = std::sin(angle);
  const Flat e{
      ellipse.reference.x(), ellipse.reference.y(), ellipse.parameters[0], ellipse.parameters[1], ct, st,
      ellipse.semi_major(),  ellipse.semi_minor()};
  Sums total{};
  (weights.empty() ? plain : weighted)(&points.data()->x_mm, weights.data(), points.size(), e, total);

  // Out of the axes' frame: the centre turns by the angle, (p, q) by twice the angle.
  EllipseMatrix turn = EllipseMatrix::Identity();
  turn.topLeftCorner<2, 2>() << ct, -st, st, ct;
  const double c2 = std::cos(2 * angle), s2 = std::sin(2 * angle);
  turn.bottomRightCorner<2, 2>() << c2, -s2, s2, c2;
  EllipseSums sums;
  sums.chi2 = total[35];
  sums.ssq = total[36];
  sums.gradient = -(turn * Eigen::Map<const EllipseVector>(total.data()));
  const EllipseMatrix normal = symmetric(total.data() + 5), correction = symmetric(total.data() + 20);
  sums.normal_matrix = turn * normal * turn.transpose();
  sums.hessian = turn * (normal + correction) * turn.transpose();
  return sums;
}

}  // namespace rondure
