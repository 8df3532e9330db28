#include "extremes.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/vector_clones.hpp"

// Compiled for finite numbers (see src/CMakeLists.txt): callers have checked them.

namespace rondure {
namespace {

constexpr std::size_t kBlock =
    64;  // the farthest is looked for again in its block alone, without vector registers

RONDURE_VECTOR_CLONES void both(const double* x, const double* y, std::size_t n, double cx, double cy,
                                Extremes& e) {
  double least = e.nearest2, most = e.farthest2;
  for (std::size_t i = 0; i < n; ++i) {
    const double dx = x[i] - cx, dy = y[i] - cy, d = dx * dx + dy * dy;
    least = d < least ? d : least;
    most = d > most ? d : most;
  }
  e.nearest2 = least, e.farthest2 = most;
}

// The blocks that hold the nearest and the farthest point.
RONDURE_VECTOR_CLONES void extreme_blocks(const double* x, const double* y, std::size_t n, double cx,
                                          double cy, ExtremePoints& block) {
  double least = std::numeric_limits<double>::max(), most = -1;
  for (std::size_t first = 0; first < n; first += kBlock) {
    const std::size_t count = std::min(kBlock, n - first);
    double near = std::numeric_limits<double>::max(), far = -1;
    for (std::size_t i = first; i < first + count; ++i) {
      const double dx = x[i] - cx, dy = y[i] - cy, d = dx * dx + dy * dy;
      near = d < near ? d : near;
      far = d > far ? d : far;
    }
    if (near < least) least = near, block.nearest = first;
    if (far > most) most = far, block.farthest = first;
  }
}

RONDURE_VECTOR_CLONES double most_distant(const double* x, const double* y, std::size_t n, double cx,
                                          double cy) {
  double most = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const double dx = x[i] - cx, dy = y[i] - cy, d = dx * dx + dy * dy;
    most = d > most ? d : most;
  }
  return most;
}

RONDURE_VECTOR_CLONES void both_signed(const double* x, const double* y, std::size_t n, double k, double ex,
                                       double ey, SignedExtremes& e) {
  double least = e.least, most = e.greatest;
  for (std::size_t i = 0; i < n; ++i) {
    const double top = 2 * (x[i] * ex + y[i] * ey) + k * (x[i] * x[i] + y[i] * y[i]);
    const double root = 1 + k * top, d = top / (1 + std::sqrt(root > 0 ? root : 0));
    least = d < least ? d : least;
    most = d > most ? d : most;
  }
  e.least = least, e.greatest = most;
}

}  // namespace

CenteredCloud centered(std::span<const PartPoint> points) {
  CenteredCloud c;
  const std::size_t n = points.size(), few = std::max<std::size_t>(1, n / 64);
  double count = 0;
  for (std::size_t i = 0; i < n; i += few) c.reference += points[i].vec(), ++count;
  c.reference /= count;
  c.cloud.x.resize(n), c.cloud.y.resize(n), c.cloud.index.resize(n);
  double* x = c.cloud.x.data();
  double* y = c.cloud.y.data();
  const double ox = c.reference.x(), oy = c.reference.y();
  for (std::size_t i = 0; i < n; ++i) {
    x[i] = points[i].x_mm - ox, y[i] = points[i].y_mm - oy;
    c.cloud.index[i] = static_cast<int>(i);
  }
  c.extent = std::sqrt(most_distant(x, y, n, 0, 0));
  return c;
}

void drop_copies(Cloud& cloud) {
  std::size_t kept = 0;
  for (std::size_t i = 0; i < cloud.size(); ++i) {
    bool copy = false;
    for (std::size_t j = 0; j < kept && !copy; ++j)
      copy = cloud.x[i] == cloud.x[j] && cloud.y[i] == cloud.y[j];
    if (copy) continue;
    cloud.x[kept] = cloud.x[i], cloud.y[kept] = cloud.y[i], cloud.index[kept] = cloud.index[i];
    ++kept;
  }
  cloud.x.resize(kept), cloud.y.resize(kept), cloud.index.resize(kept);
}

Extremes extremes(const Cloud& cloud, double cx, double cy) {
  Extremes e{std::numeric_limits<double>::max(), 0};
  both(cloud.x.data(), cloud.y.data(), cloud.size(), cx, cy, e);
  return e;
}

std::size_t farthest(const Cloud& cloud, double cx, double cy) {
  double most = -1;
  std::size_t block = 0;
  for (std::size_t first = 0; first < cloud.size(); first += kBlock) {
    const std::size_t n = std::min(kBlock, cloud.size() - first);
    const double here = most_distant(cloud.x.data() + first, cloud.y.data() + first, n, cx, cy);
    if (here > most) most = here, block = first;
  }
  std::size_t best = block;
  double best2 = -1;
  for (std::size_t i = block; i < std::min(block + kBlock, cloud.size()); ++i) {
    const double dx = cloud.x[i] - cx, dy = cloud.y[i] - cy, d = dx * dx + dy * dy;
    if (d > best2) best2 = d, best = i;
  }
  return best;
}

ExtremePoints extreme_points(const Cloud& cloud, double cx, double cy) {
  ExtremePoints block;
  extreme_blocks(cloud.x.data(), cloud.y.data(), cloud.size(), cx, cy, block);
  const auto best = [&](std::size_t first, double sign) {
    std::size_t at = first;
    double best2 = std::numeric_limits<double>::lowest();
    for (std::size_t i = first; i < std::min(first + kBlock, cloud.size()); ++i) {
      const double dx = cloud.x[i] - cx, dy = cloud.y[i] - cy, d = sign * (dx * dx + dy * dy);
      if (d > best2) best2 = d, at = i;
    }
    return at;
  };
  return {best(block.nearest, -1), best(block.farthest, 1)};
}

SignedExtremes signed_extremes(const Cloud& cloud, double k, double ex, double ey) {
  SignedExtremes e{std::numeric_limits<double>::max(), std::numeric_limits<double>::lowest()};
  both_signed(cloud.x.data(), cloud.y.data(), cloud.size(), k, ex, ey, e);
  return e;
}

}  // namespace rondure
