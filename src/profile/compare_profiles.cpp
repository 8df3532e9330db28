#include "rondure/profile/compare_profiles.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Limits of this file that name no study are judgement; tests/profile/test_compare_profiles.cpp checks what comes of them: the
// same part, one worn by 0.01 mm, one that shrank, one whose corners are rounded off.
// Left out at either end of a surface, of its width. Whole widths that differ by more are not brought together.
constexpr double kCorner_ratio = 0.05, kMostStretch_ratio = 0.05;
// Left out there in pictures: so many blurs, at most that share of the width. Made for 15 pairs of pictures of a roller that had
// not worn, 5 of them called worn on a narrow hub; with this and a scatter pooled over the surfaces none was.
constexpr double kCorner_blurs = 12, kMostCorner_ratio = 0.33;
// Places that a surface needs; parts of it that a running mean is taken over.
constexpr std::size_t kLeastPlaces = 10, kWindows = 15;
constexpr double kShared = 3;     // neighbours that share an error
constexpr double kHighest = 0.9;  // of the smoothed places, by rank: what counts as not worn
constexpr double kUneven = 0.5;   // of a shrinkage along the axis: by so much that across it may differ
// Of a picture's blur: an edge's error that does not average out (a quarter of 0.02 px at 0.8 px; side_scenes/study).
constexpr double kLight_blurs = 0.006;

bool is_surface(const ProfileSegment& s) {
  return s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper || s.kind == SegmentKind::kArc;
}

// How B is laid on A, and what of it is doubtful all along a surface.
struct Laid {
  double ratio = 1;       // B's places in A's length
  double u_ratio = 0;     // of both lengths
  double u_place_mm = 0;  // of B's left face on A's
};

// What moves one end of a part and not the other. (Scale and the edge's offset move both, and are stretched away.)
double u_ends_mm(const SideProfile& p) {
  double sum = 0;
  for (const BudgetLine& line : p.length_budget)
    if (line.source == UncertaintySource::kEdgeNoise || line.source == UncertaintySource::kTilt)
      sum += line.u_mm * line.u_mm;
  return p.length_budget.empty() ? p.length_mm->u : std::sqrt(sum);
}

Laid lay(const SideProfile& a, const SideProfile& b) {
  Laid out;
  if (!a.length_mm || !b.length_mm || !(b.length_mm->value > 0)) return out;
  const double ratio = a.length_mm->value / b.length_mm->value;
  if (!(std::abs(ratio - 1) < kMostStretch_ratio)) return out;
  out.ratio = ratio;
  out.u_ratio = std::hypot(a.length_mm->u, b.length_mm->u) / a.length_mm->value;
  out.u_place_mm = std::hypot(u_ends_mm(a), u_ends_mm(b)) / std::sqrt(2.0);
  return out;
}

// A's radius at z, on the surface from..to.
std::optional<double> radius_at(const SideProfile& a, const ProfileSegment& s, double z) {
  const Eigen::Vector2d* before = nullptr;
  for (const Eigen::Vector2d& p : a.points) {
    if (p.x() < s.from_mm || p.x() > s.to_mm) continue;
    if (p.x() >= z)
      return before && p.x() > before->x()
                 ? std::optional(before->y() +
                                 (p.y() - before->y()) * (z - before->x()) / (p.x() - before->x()))
                 : std::nullopt;
    before = &p;
  }
  return std::nullopt;
}

double u_radius_mm(const std::optional<Estimate>& diameter) { return diameter ? 0.5 * diameter->u : 0; }

// The diameter's uncertainty in B near A's surface.
double u_beside_mm(const SideProfile& b, const ProfileSegment& s) {
  double u = 0;
  for (const ProfileSegment& t : b.segments)
    if (is_surface(t) && t.from_mm < s.to_mm && t.to_mm > s.from_mm) {
      const double here = u_radius_mm(t.diameter_mm);
      if (u == 0 || (here > 0 && here < u))
        u = here;  // a worn surface's pieces are known less well than it is
    }
  return u;
}

int half_window(std::size_t points) { return std::max(1, static_cast<int>(points / (2 * kWindows))); }

std::vector<double> smoothed(const std::vector<Eigen::Vector2d>& d) {
  const int n = static_cast<int>(d.size()), half = half_window(d.size());
  std::vector<double> out;
  for (int i = 0; i < n; ++i) {
    double sum = 0;
    const int from = std::max(0, i - half), to = std::min(n - 1, i + half);
    for (int k = from; k <= to; ++k) sum += d[static_cast<std::size_t>(k)].y();
    out.push_back(sum / (to - from + 1));
  }
  return out;
}

// Beside a corner, where the points are not the surface's.
double corner_mm(const SideProfile& a, const SideProfile& b, const ProfileSegment& s) {
  const double width = s.to_mm - s.from_mm, rounded = kCorner_blurs * std::max(a.blur_mm, b.blur_mm);
  return std::max(kCorner_ratio * width, std::min(rounded, kMostCorner_ratio * width));
}

std::vector<double> off_the_line(const SurfaceWear& wear) {
  std::vector<double> off;
  for (std::size_t i = 0; i < wear.smoothed.size(); ++i)
    off.push_back(std::abs(wear.difference[i].y() - wear.smoothed[i].y()));
  return off;
}

// Of single differences, from how far they lie off a mean that holds the point itself.
double scatter_mm(std::vector<double> off, double window) {
  return off.empty() ? 0 : 1.4826 * median(std::move(off)) / std::sqrt(1 - 1 / window);
}

double window_of(const SurfaceWear& wear) { return 2.0 * half_window(wear.difference.size()) + 1; }

// The two places that `deepest` lies between.
struct Places {
  std::size_t lowest = 0, high = 0;
};

Places smooth(SurfaceWear& wear) {
  const std::vector<double> line = smoothed(wear.difference);
  std::vector<double> all;
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < line.size(); ++i) {
    all.push_back(wear.difference[i].y()), order.push_back(i);
    wear.smoothed.emplace_back(wear.difference[i].x(), line[i]);
  }
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t i, std::size_t k) { return line[i] < line[k]; });
  const Places out{order.front(),
                   order[static_cast<std::size_t>(kHighest * static_cast<double>(order.size() - 1))]};
  wear.least_worn_mm = line[out.high];
  wear.mean_mm.value = median(all);
  wear.deepest_mm.value = wear.least_worn_mm - line[out.lowest];
  wear.deepest_at_mm = wear.difference[out.lowest].x();
  return out;
}

// What the two views do not share, and no mean over places takes away, between two places of A's radius.
double u_shape_mm(const std::vector<Eigen::Vector2d>& radius, const Places& at, const Laid& laid,
                  double light_mm) {
  const int n = static_cast<int>(radius.size()), half = half_window(radius.size());
  const auto slope = [&](std::size_t i) {
    const auto from = static_cast<std::size_t>(std::max(0, static_cast<int>(i) - half)),
               to = static_cast<std::size_t>(std::min(n - 1, static_cast<int>(i) + half));
    return (radius[to].y() - radius[from].y()) / (radius[to].x() - radius[from].x());
  };
  const double rise = std::abs(radius[at.lowest].y() - radius[at.high].y());
  return std::hypot(laid.u_place_mm * (slope(at.lowest) - slope(at.high)),
                    std::hypot(kUneven * (laid.ratio - 1), laid.u_ratio) * rise, std::sqrt(2.0) * light_mm);
}

// `pooled_mm`: the scatter of the surface with the most places.
void judge(SurfaceWear& wear, double pooled_mm, double u_shape) {
  const double window = window_of(wear),
               scatter = std::max(scatter_mm(off_the_line(wear), window), pooled_mm);
  wear.deepest_mm.u =
      std::hypot(std::sqrt(2.0) * scatter * std::sqrt(std::min(1.0, kShared / window)), u_shape);
  wear.worn = wear.deepest_mm.value > kWearTold_u * wear.deepest_mm.u;
}

// B's radius less A's at B's places. A part that shrank bows less: its bow is drawn out with its length, its mean kept.
void take_differences(const SideProfile& a, const ProfileSegment& s, const SideProfile& b, const Laid& laid,
                      SurfaceWear& wear, std::vector<Eigen::Vector2d>& radius) {
  const double corner = corner_mm(a, b, s);
  std::vector<double> radii;
  for (const Eigen::Vector2d& p : b.points) {
    const double z = laid.ratio * p.x();
    if (z < s.from_mm + corner || z > s.to_mm - corner) continue;
    const auto r = radius_at(a, s, z);
    if (!r) continue;
    wear.difference.emplace_back(z, p.y() - *r), radius.emplace_back(z, *r), radii.push_back(p.y());
  }
  if (radii.empty()) return;
  const std::vector<double> of_b = radii;
  const double mean = median(std::move(radii));
  for (std::size_t i = 0; i < of_b.size(); ++i) wear.difference[i].y() += (laid.ratio - 1) * (of_b[i] - mean);
}

}  // namespace

std::vector<SurfaceWear> compare_profiles(const SideProfile& a, const SideProfile& b) {
  std::vector<SurfaceWear> out;
  std::vector<double> u_shape;
  const Laid laid = lay(a, b);
  const double light_mm = kLight_blurs * std::hypot(a.blur_mm, b.blur_mm);
  for (const ProfileSegment& s : a.segments) {
    if (!is_surface(s)) continue;
    SurfaceWear wear;
    std::vector<Eigen::Vector2d> radius;
    wear.name = s.name;
    take_differences(a, s, b, laid, wear, radius);
    if (wear.difference.size() < kLeastPlaces) continue;
    wear.mean_mm.u = std::hypot(u_radius_mm(s.diameter_mm), u_beside_mm(b, s));
    u_shape.push_back(u_shape_mm(radius, smooth(wear), laid, light_mm));
    out.push_back(std::move(wear));
  }
  double pooled_mm = 0;  // of the surface with the most places
  std::size_t most = 0;
  for (const SurfaceWear& wear : out)
    if (wear.difference.size() > most)
      most = wear.difference.size(), pooled_mm = scatter_mm(off_the_line(wear), window_of(wear));
  for (std::size_t k = 0; k < out.size(); ++k) judge(out[k], pooled_mm, u_shape[k]);
  return out;
}

}  // namespace rondure
