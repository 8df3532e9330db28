#include "axis_search.hpp"

#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

// Bins of a quarter of a degree all round: axes are tried every eighth of one, and refined by the outline itself afterwards
// (meridian.cpp). By judgement.
constexpr int kDirections = 1440;
constexpr double kMirrored_ratio = 0.03;  // misfit of an axis, of the mean radius; tilts and dust pass

Eigen::Vector2d centre_of_area(const std::vector<OutlinePoint>& outline) {
  double area = 0;
  Eigen::Vector2d sum = Eigen::Vector2d::Zero();
  const Eigen::Vector2d zero = outline[0].at;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Eigen::Vector2d a = outline[i].at - zero, b = outline[(i + 1) % outline.size()].at - zero;
    const double cross = a.x() * b.y() - a.y() * b.x();
    area += cross, sum += cross * (a + b) / 3;
  }
  return area != 0 ? Eigen::Vector2d(zero + sum / area) : zero;
}

// Farthest outline point by direction from the centre, gaps bridged.
std::vector<double> distances(const std::vector<OutlinePoint>& outline, const Eigen::Vector2d& centre) {
  std::vector<double> far(kDirections, 0);
  const auto put = [&](const Eigen::Vector2d& d) {
    const double turn = std::atan2(d.y(), d.x()) / (2 * kPi) + 1;
    double& bin = far[static_cast<std::size_t>(turn * kDirections) % kDirections];
    bin = std::max(bin, d.norm());
  };
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Eigen::Vector2d a = outline[i].at - centre, b = outline[(i + 1) % outline.size()].at - centre;
    const int parts = 1 + static_cast<int>((b - a).norm() / (0.002 * (1e-9 + a.norm())));
    for (int k = 0; k < std::min(parts, 200); ++k) put(a + (b - a) * k / std::min(parts, 200));
  }
  return far;
}

}  // namespace

AxisSearch search_axes(const std::vector<OutlinePoint>& outline) {
  AxisSearch out;
  out.centre = centre_of_area(outline);
  const std::vector<double> far = distances(outline, out.centre);
  double mean = 0;
  for (const double d : far) mean += d / kDirections;
  double spread = 0;
  for (const double d : far) spread += (d - mean) * (d - mean) / kDirections;
  out.roundness_ratio = std::sqrt(spread) / mean;
  // Axis in direction k/2 bins: bins k/2 + j and k/2 - j mirror each other.
  std::vector<double> misfit(kDirections);
  for (int k = 0; k < kDirections; ++k) {
    std::vector<double> d2;
    double sum = 0;
    for (int j = 0; j < kDirections; j += 2) {
      const double d = far[j] - far[((k - j) % kDirections + kDirections) % kDirections];
      // A corner a bin off counts for little: it is the flat stretches that tell.
      sum += std::min(d * d, 0.01 * mean * mean);
    }
    misfit[k] = std::sqrt(sum / (kDirections / 2)) / mean;
  }
  std::vector<int> lows;
  for (int k = 0; k < kDirections; ++k) {
    bool least = true;
    for (int j = -20; j <= 20 && least; ++j) {
      const double other = misfit[((k + j) % kDirections + kDirections) % kDirections];
      least = j < 0 ? misfit[k] < other : misfit[k] <= other;
    }
    if (least) lows.push_back(k);
  }
  std::sort(lows.begin(), lows.end(), [&](int a, int b) { return misfit[a] < misfit[b]; });
  if (!lows.empty()) out.best_misfit_ratio = misfit[lows[0]];
  for (const int k : lows)
    if (misfit[k] < kMirrored_ratio && out.angles_rad.size() < 4)
      out.angles_rad.push_back(wrap_axis_rad(kPi * (k + 1) / kDirections));
  return out;
}

}  // namespace rondure
