#include "circle_sums.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "rondure/core/vector_clones.hpp"

// Compiled with sums in any order (see src/CMakeLists.txt), so that the loops use vector registers. The
// subtraction of the reference goes through memory first: it must not be reordered.

namespace rondure {
namespace {

// Points at once: their x and y, 4 KB, stay in the nearest cache. By judgement; study_fit_speed measures the time.
constexpr std::size_t kBlock = 256;
constexpr std::size_t kSums = 15;  // those of add_block
using Sums = std::array<double, kSums>;
static_assert(sizeof(PartPoint) == 2 * sizeof(double));

struct Flat {  // AnchoredCircle as plain numbers
  double ox, oy, ax, ay, nx, ny, radius;
};

template <bool kWeighted, bool kShallow>
RONDURE_INLINE void add_block(const double* x, const double* y, const double* w, std::size_t n, const Flat& c,
                              Sums& total) {
  double s_w = 0, s_dd = 0, s_d = 0, s_dv = 0, s_dq = 0, s_v = 0, s_q = 0, s_vv = 0, s_vq = 0, s_eqq = 0,
         s_epq = 0, s_aa = 0, s_ak = 0, s_kk = 0, s_ssq = 0;
  const double radius = c.radius, tiny = 1e-12 * c.radius;
  for (std::size_t i = 0; i < n; ++i) {
    const double dx = x[i] - c.ax, dy = y[i] - c.ay;
    const double along = c.nx * dx + c.ny * dy, across = c.nx * dy - c.ny * dx;
    const double from_center = along + radius;
    const double d = std::sqrt(from_center * from_center + across * across);
    const double inverse = 1 / (d > tiny ? d : tiny);
    const double p = from_center * inverse, q = across * inverse;
    double v = 1 - p, f = d - radius;
    if constexpr (kShallow) {
      v = p > 0 ? q * q / (1 + p) : v;
      f = (2 * radius * along + along * along + across * across) / (d + radius);
    }
    const double e = f * inverse, bend = v + e - e * v;
    const double wi = kWeighted ? w[i] : 1.0, wf = wi * f, we = wi * e, wv = wi * v, wq = wi * q;
    s_dd += wf * f, s_d += wf, s_dv += wf * v, s_dq += wf * q;
    s_v += wv, s_q += wq, s_vv += wv * v, s_vq += wv * q;
    s_eqq += we * q * q, s_epq += we * p * q;
    s_aa += wf * p * bend, s_ak += wf * q * bend, s_kk += wf * (v * v + e * q * q);
    if constexpr (kWeighted) s_w += wi, s_ssq += f * f;
  }
  if constexpr (!kWeighted) s_w = static_cast<double>(n), s_ssq = s_dd;
  const Sums block{s_w, s_dd, s_d, s_dv, s_dq, s_v, s_q, s_vv, s_vq, s_eqq, s_epq, s_aa, s_ak, s_kk, s_ssq};
  for (std::size_t k = 0; k < kSums; ++k) total[k] += block[k];
}

template <bool kWeighted, bool kShallow>
RONDURE_INLINE void add_all(const double* xy, const double* w, std::size_t n, const Flat& c, Sums& total) {
  alignas(64) double x[kBlock], y[kBlock];
  for (std::size_t first = 0; first < n; first += kBlock) {
    const std::size_t count = std::min(kBlock, n - first);
    for (std::size_t i = 0; i < count; ++i)
      x[i] = xy[2 * (first + i)] - c.ox, y[i] = xy[2 * (first + i) + 1] - c.oy;
    add_block<kWeighted, kShallow>(x, y, kWeighted ? w + first : nullptr, count, c, total);
  }
}

RONDURE_VECTOR_CLONES void plain(const double* xy, const double*, std::size_t n, const Flat& c, Sums& total) {
  add_all<false, false>(xy, nullptr, n, c, total);
}
RONDURE_VECTOR_CLONES void plain_shallow(const double* xy, const double*, std::size_t n, const Flat& c,
                                         Sums& total) {
  add_all<false, true>(xy, nullptr, n, c, total);
}
RONDURE_VECTOR_CLONES void weighted(const double* xy, const double* w, std::size_t n, const Flat& c,
                                    Sums& total) {
  add_all<true, false>(xy, w, n, c, total);
}
RONDURE_VECTOR_CLONES void weighted_shallow(const double* xy, const double* w, std::size_t n, const Flat& c,
                                            Sums& total) {
  add_all<true, true>(xy, w, n, c, total);
}

}  // namespace

CircleSums circle_sums(std::span<const PartPoint> points, std::span<const double> weights,
                       const AnchoredCircle& circle, bool shallow) {
  const Flat c{circle.reference.x(), circle.reference.y(), circle.anchor.x(), circle.anchor.y(),
               circle.normal.x(),    circle.normal.y(),    circle.radius_mm};
  const bool has_weights = !weights.empty();
  const auto pass = has_weights ? (shallow ? weighted_shallow : weighted) : (shallow ? plain_shallow : plain);
  Sums total{};
  pass(&points.data()->x_mm, weights.data(), points.size(), c, total);
  const auto [w, dd, d, dv, dq, v, q, vv, vq, eqq, epq, aa, ak, kk, ssq] = total;

  CircleSums s;
  const double r = circle.radius_mm, r2 = r * r;
  s.weight = w;
  s.chi2 = dd;
  s.ssq = ssq;
  s.gradient << dv - d, r * dq, r2 * dv;
  Eigen::Matrix3d& m = s.normal_matrix;
  m << w - 2 * v + vv, r * (vq - q), r2 * (vv - v),  //
      0, r2 * (2 * v - vv), r * r2 * vq,             //
      0, 0, r2 * r2 * vv;
  Eigen::Matrix3d second;
  second << eqq, r * epq, r2 * eqq,  //
      0, -r * aa, -r2 * ak,          //
      0, 0, -r * r2 * kk;
  s.hessian = m + second;
  for (Eigen::Matrix3d* a : {&m, &s.hessian})
    for (int i = 0; i < 3; ++i)
      for (int j = 0; j < i; ++j) (*a)(i, j) = (*a)(j, i);
  return s;
}

}  // namespace rondure
