// A part of revolution seen from the side, drawn: profile of straight lines and arcs, its outline as points, and the
// picture of its silhouette by area (each pixel the share of the part in it, then blurred).
#pragma once
#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "rondure/photo/picture.hpp"
#include "rondure/profile/meridian.hpp"

namespace rondure::test {

using Line = std::vector<Eigen::Vector2d>;

constexpr double kScale_px_mm = 60;

// An arc from a to b of the radius, bulging to the left of the way (radius > 0) or to the right (< 0).
inline void add_arc(Line& line, const Eigen::Vector2d& b, double radius_mm, int parts = 400) {
  const Eigen::Vector2d a = line.back(), way = b - a, left(-way.y(), way.x());
  const double half = 0.5 * way.norm(), r = std::abs(radius_mm), rise = std::sqrt(r * r - half * half);
  const double side = radius_mm > 0 ? 1 : -1;
  const Eigen::Vector2d center = 0.5 * (a + b) - side * rise * left.normalized();
  const double from = std::atan2(a.y() - center.y(), a.x() - center.x());
  const double sweep = -side * 2 * std::asin(half / r);
  for (int k = 1; k <= parts; ++k)
    line.push_back(
        center + r * Eigen::Vector2d(std::cos(from + sweep * k / parts), std::sin(from + sweep * k / parts)));
}

// The meridian from the middle of the left end to that of the right end, closed by its mirror image; counter-clockwise.
inline Line closed(const Line& meridian) {
  Line out;
  for (const auto& p : meridian) out.emplace_back(p.x(), -p.y());
  for (auto p = meridian.rbegin(); p != meridian.rend(); ++p) out.push_back(*p);
  return out;
}

inline Line placed(const Line& line, double angle_rad, const Eigen::Vector2d& at) {
  Line out;
  for (const auto& p : line)
    out.push_back(at + Eigen::Vector2d(std::cos(angle_rad) * p.x() - std::sin(angle_rad) * p.y(),
                                       std::sin(angle_rad) * p.x() + std::cos(angle_rad) * p.y()));
  return out;
}

// Points every step along the outline with a normal error across it; none within `gap` of a corner of more than 20
// degrees.
inline std::vector<OutlinePoint> outline_points(const Line& line, double step_mm, double noise_mm,
                                                double gap_mm, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, 1);
  std::vector<OutlinePoint> out;
  const std::size_t n = line.size();
  std::vector<Eigen::Vector2d> corners;
  for (std::size_t i = 0; i < n; ++i) {
    const Eigen::Vector2d a = line[i] - line[(i + n - 1) % n], b = line[(i + 1) % n] - line[i];
    if (a.norm() > 0 && b.norm() > 0 && a.normalized().dot(b.normalized()) < 0.94) corners.push_back(line[i]);
  }
  double left = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const Eigen::Vector2d a = line[i], way = line[(i + 1) % n] - a;
    const double length = way.norm();
    if (length <= 0) continue;
    const Eigen::Vector2d outward(way.y() / length, -way.x() / length);
    for (; left < length; left += step_mm) {
      const Eigen::Vector2d p = a + left * way / length;
      bool clear = true;
      for (const auto& c : corners) clear = clear && (p - c).norm() > gap_mm;
      if (clear) out.push_back({p + noise_mm * normal(random) * outward, outward, std::max(noise_mm, 1e-7)});
    }
    left -= length;
  }
  return out;
}

// Light 0.02 inside, 0.85 outside, as sRGB bytes. y of the line is up; its origin is the picture's lower left pixel.
inline Picture drawn(const Line& line_mm, double px_per_mm, int width_px, int height_px, double blur_px,
                     double noise_light, unsigned seed) {
  constexpr int kFine = 8;
  std::vector<float> share(static_cast<std::size_t>(width_px) * height_px, 0);
  for (int y = 0; y < height_px; ++y)
    for (int f = 0; f < kFine; ++f) {
      const double row = y + (f + 0.5) / kFine - 0.5, up_mm = (height_px - 1 - row) / px_per_mm;
      std::vector<double> cuts;
      for (std::size_t i = 0; i < line_mm.size(); ++i) {
        const auto &a = line_mm[i], &b = line_mm[(i + 1) % line_mm.size()];
        if ((a.y() > up_mm) == (b.y() > up_mm)) continue;
        cuts.push_back((a.x() + (b.x() - a.x()) * (up_mm - a.y()) / (b.y() - a.y())) * px_per_mm + 0.5);
      }
      std::sort(cuts.begin(), cuts.end());
      for (std::size_t i = 0; i + 1 < cuts.size(); i += 2)
        for (int x = std::max(0, static_cast<int>(cuts[i])); x < width_px && x < cuts[i + 1]; ++x)
          share[static_cast<std::size_t>(y) * width_px + x] += static_cast<float>(
              (std::min(cuts[i + 1], x + 1.0) - std::max(cuts[i], static_cast<double>(x))) / kFine);
    }
  std::vector<double> kernel;
  double sum = 0;
  const int reach = static_cast<int>(4 * blur_px) + 1;
  for (int k = -reach; k <= reach; ++k)
    kernel.push_back(std::exp(-0.5 * k * k / (blur_px * blur_px))), sum += kernel.back();
  const auto blurred = [&](const std::vector<float>& in, int dx, int dy) {
    std::vector<float> out(in.size());
    for (int y = 0; y < height_px; ++y)
      for (int x = 0; x < width_px; ++x) {
        double s = 0;
        for (int k = -reach; k <= reach; ++k) {
          const int u = std::clamp(x + k * dx, 0, width_px - 1), v = std::clamp(y + k * dy, 0, height_px - 1);
          s += kernel[static_cast<std::size_t>(k + reach)] * in[static_cast<std::size_t>(v) * width_px + u];
        }
        out[static_cast<std::size_t>(y) * width_px + x] = static_cast<float>(s / sum);
      }
    return out;
  };
  const std::vector<float> soft = blurred(blurred(share, 1, 0), 0, 1);
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, 1);
  Picture picture;
  picture.width_px = width_px, picture.height_px = height_px;
  for (const float s : soft) {
    const double light = std::max(0.0, 0.85 + (0.02 - 0.85) * s + noise_light * normal(random));
    const double v = light <= 0.0031308 ? 12.92 * light : 1.055 * std::pow(light, 1 / 2.4) - 0.055;
    picture.grey8.push_back(static_cast<std::uint8_t>(std::clamp(std::lround(255 * v), 0L, 255L)));
  }
  return picture;
}

}  // namespace rondure::test
