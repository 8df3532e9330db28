#include "rondure/profile/compare_profiles.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr double kCorner_ratio = 0.05, kMostStretch_ratio = 0.05;
constexpr double kCorner_blurs = 12, kMostCorner_ratio = 0.33;
constexpr std::size_t kLeastPlaces = 10, kWindows = 15;
constexpr double kShared = 3;  // neighbours that share an error
constexpr double kHighest = 0.9;

bool is_surface(const ProfileSegment& s) {
  return s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper || s.kind == SegmentKind::kArc;
}

// B's places in A's length.
double stretch(const SideProfile& a, const SideProfile& b) {
  if (!a.length_mm || !b.length_mm || !(b.length_mm->value > 0)) return 1;
  const double ratio = a.length_mm->value / b.length_mm->value;
  return std::abs(ratio - 1) < kMostStretch_ratio ? ratio : 1;
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

void smooth(SurfaceWear& wear) {
  const std::vector<double> line = smoothed(wear.difference);
  std::vector<double> all, sorted = line;
  for (std::size_t i = 0; i < line.size(); ++i) {
    all.push_back(wear.difference[i].y());
    wear.smoothed.emplace_back(wear.difference[i].x(), line[i]);
  }
  std::sort(sorted.begin(), sorted.end());
  wear.least_worn_mm = sorted[static_cast<std::size_t>(kHighest * static_cast<double>(sorted.size() - 1))];
  const auto lowest = std::min_element(line.begin(), line.end());
  wear.mean_mm.value = median(all);
  wear.deepest_mm.value = std::max(0.0, wear.least_worn_mm - *lowest);
  wear.deepest_at_mm = wear.difference[static_cast<std::size_t>(lowest - line.begin())].x();
}

// `pooled_mm`: the scatter of the surface with the most places.
void judge(SurfaceWear& wear, double pooled_mm) {
  const double window = window_of(wear),
               scatter = std::max(scatter_mm(off_the_line(wear), window), pooled_mm);
  wear.deepest_mm.u = std::sqrt(2.0) * scatter * std::sqrt(std::min(1.0, kShared / window));
  wear.worn = wear.deepest_mm.value > kWearTold_u * wear.deepest_mm.u;
}

}  // namespace

std::vector<SurfaceWear> compare_profiles(const SideProfile& a, const SideProfile& b) {
  std::vector<SurfaceWear> out;
  const double ratio = stretch(a, b);
  for (const ProfileSegment& s : a.segments) {
    if (!is_surface(s)) continue;
    const double corner = corner_mm(a, b, s);
    SurfaceWear wear;
    wear.name = s.name;
    for (const Eigen::Vector2d& p : b.points) {
      const double z = ratio * p.x();
      if (z < s.from_mm + corner || z > s.to_mm - corner) continue;
      if (const auto r = radius_at(a, s, z)) wear.difference.emplace_back(z, p.y() - *r);
    }
    if (wear.difference.size() < kLeastPlaces) continue;
    wear.mean_mm.u = std::hypot(u_radius_mm(s.diameter_mm), u_beside_mm(b, s));
    smooth(wear);
    out.push_back(std::move(wear));
  }
  double pooled_mm = 0;  // of the surface with the most places
  std::size_t most = 0;
  for (const SurfaceWear& wear : out)
    if (wear.difference.size() > most)
      most = wear.difference.size(), pooled_mm = scatter_mm(off_the_line(wear), window_of(wear));
  for (SurfaceWear& wear : out) judge(wear, pooled_mm);
  return out;
}

}  // namespace rondure
