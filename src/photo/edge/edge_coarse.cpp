#include "photo/edge/edge_coarse.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "photo/edge/student_fit.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

int around(int k, int count) { return (k % count + count) % count; }

// Mean light of the sector and its two neighbours in bins of one pixel; empty bins carry on the last value.
class BinnedLight {
public:
  explicit BinnedLight(const EdgeBand& band)
      : half_(static_cast<int>(band.reach_px)), count_(static_cast<int>(band.sectors.size())) {
    sum_.assign(static_cast<std::size_t>(count_) * bins(), 0), weight_ = sum_;
    for (int k = 0; k < count_; ++k)
      for (int i = band.sectors[k].begin; i < band.sectors[k].end; ++i) {
        const int b = std::clamp(static_cast<int>(std::lround(band.pixels[i].s_px)) + half_, 0, bins() - 1);
        sum_[place(k, b)] += band.pixels[i].light;
        weight_[place(k, b)] += 1;
      }
  }
  int half() const { return half_; }
  int bins() const { return 2 * half_ + 1; }
  bool level(int k, std::vector<double>& level) const {  // false: no pixels at all
    double last = 0;
    bool any = false;
    for (int b = 0; b < bins(); ++b) {
      double s = 0, w = 0;
      for (int n = -1; n <= 1; ++n)
        s += sum_[place(around(k + n, count_), b)], w += weight_[place(around(k + n, count_), b)];
      if (w > 0) last = s / w, any = true;
      level[b] = last;
    }
    return any;
  }

private:
  std::size_t place(int k, int b) const { return static_cast<std::size_t>(k) * bins() + b; }
  int half_ = 0, count_ = 0;
  std::vector<double> sum_, weight_;
};

struct Rise {
  double at_px = std::nan(""), height = 0;
};

struct Stretch {
  double middle_px = 0, reach_px = 0;
};

// Greatest mean of three bins beyond minus mean of three before; of two like edges the one nearer the middle.
Rise greatest_rise(const std::vector<double>& level, int half, double sign, const Stretch& within) {
  const int bins = static_cast<int>(level.size());
  const auto rise = [&](int b) {
    return sign *
           ((level[b + 1] + level[b + 2] + level[b + 3]) - (level[b - 1] + level[b - 2] + level[b - 3])) / 3;
  };
  double best = 0;
  int at = -1;
  for (int b = 3; b + 3 < bins; ++b) {
    const double off = std::abs(b - half - within.middle_px);
    if (off > within.reach_px) continue;
    const double near = 1 - 0.4 * off / within.reach_px;
    if (rise(b) * near > best) best = rise(b) * near, at = b;
  }
  if (at < 0) return {};
  double shift = 0;
  if (at > 3 && at + 4 < bins) {
    const double l = rise(at - 1), m = rise(at), r = rise(at + 1), bend = l - 2 * m + r;
    if (bend < 0) shift = std::clamp(0.5 * (l - r) / bend, -0.7, 0.7);
  }
  return {at - half + shift, rise(at)};
}

constexpr int kTerms = 7;  // mean and three undulations
using Terms = Eigen::Matrix<double, kTerms, 1>;

Terms undulations(int k, int count) {
  Terms b;
  b[0] = 1;
  for (int n = 1; n <= 3; ++n)
    b[2 * n - 1] = std::cos(2 * kPi * n * k / count), b[2 * n] = std::sin(2 * kPi * n * k / count);
  return b;
}

Terms smooth_outline(const std::vector<double>& coarse) {
  constexpr double kFirst_px = 3, kLeast_px = 0.3;
  const int count = static_cast<int>(coarse.size());
  std::vector<Terms> rows;
  std::vector<double> places;
  for (int k = 0; k < count; ++k)
    if (!std::isnan(coarse[k])) rows.push_back(undulations(k, count)), places.push_back(coarse[k]);
  return student_fit(rows, places, kFirst_px, kLeast_px);
}

}  // namespace

std::vector<double> coarse_places(const EdgeBand& band, double sign) {
  const int count = static_cast<int>(band.sectors.size());
  const BinnedLight light(band);
  std::vector<double> level(static_cast<std::size_t>(light.bins())), heights;
  std::vector<Rise> rises(static_cast<std::size_t>(count));
  for (int k = 0; k < count; ++k) {
    const Stretch within = band.expected_px.empty() ? Stretch{0, static_cast<double>(light.half())}
                                                    : Stretch{band.expected_px[k], band.expected_reach_px};
    if (light.level(k, level)) rises[k] = greatest_rise(level, light.half(), sign, within);
    heights.push_back(rises[k].height);
  }
  const double typical = median(heights);
  if (typical < 2 * band.quantum_light) return {};
  std::vector<double> places;
  for (const Rise& rise : rises) places.push_back(rise.height < 0.35 * typical ? std::nan("") : rise.at_px);
  return places;
}

std::vector<double> smooth_places(const std::vector<double>& coarse) {
  const Terms outline = smooth_outline(coarse);
  const int count = static_cast<int>(coarse.size());
  std::vector<double> places;
  for (int k = 0; k < count; ++k) places.push_back(undulations(k, count).dot(outline));
  return places;
}

std::vector<double> window_middles(const std::vector<double>& coarse) {
  const int count = static_cast<int>(coarse.size());
  const Terms outline = smooth_outline(coarse);
  std::vector<double> middles(coarse.size(), std::nan(""));
  for (int k = 0; k < count; ++k) {
    if (std::isnan(coarse[k])) continue;
    const double smooth = undulations(k, count).dot(outline);
    if (std::abs(coarse[k] - smooth) < 1.2) {
      middles[k] = smooth;
      continue;
    }
    std::vector<double> near;
    for (int n = -2; n <= 2; ++n)
      if (const double c = coarse[around(k + n, count)]; !std::isnan(c)) near.push_back(c);
    middles[k] = median(near);
  }
  return middles;
}

}  // namespace rondure
