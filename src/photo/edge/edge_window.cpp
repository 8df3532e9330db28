#include "photo/edge/edge_window.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Either side; wider knows the levels better but meets other things. Soft edges need more of it.
constexpr double kWidestWindow_px = 16;

// Median light at half pixels from the edge; not a number where fewer than five pixels lie.
class MedianProfile {
public:
  MedianProfile(const EdgeBand& band, const std::vector<double>& middles, int half) : half_(half) {
    std::vector<std::vector<double>> bins(static_cast<std::size_t>(4 * half + 1));
    for (std::size_t k = 0; k < band.sectors.size(); ++k) {
      if (std::isnan(middles[k])) continue;
      for (int i = band.sectors[k].begin; i < band.sectors[k].end; ++i) {
        const int b = static_cast<int>(std::lround(2 * (band.pixels[i].s_px - middles[k]))) + 2 * half;
        if (b >= 0 && b <= 4 * half) bins[b].push_back(band.pixels[i].light);
      }
    }
    for (auto& bin : bins) light_.push_back(bin.size() >= 5 ? median(std::move(bin)) : std::nan(""));
  }
  double at(double s_px) const {
    return light_[static_cast<std::size_t>(2 * half_ + static_cast<int>(2 * s_px))];
  }
  double level(double from_px, double to_px) const {
    std::vector<double> v;
    for (int b = 0; b < static_cast<int>(light_.size()); ++b) {
      const double s = 0.5 * (b - 2 * half_);
      if (s >= from_px && s <= to_px && !std::isnan(light_[b])) v.push_back(light_[b]);
    }
    return v.empty() ? std::nan("") : median(std::move(v));
  }
  double steepest(double sign) const {  // rise over one pixel, within 2 px of the middle
    double best = 0;
    for (int b = 2; b + 2 < static_cast<int>(light_.size()); ++b)
      if (std::abs(b - 2 * half_) <= 4) best = std::max(best, sign * (light_[b + 1] - light_[b - 1]));
    return best;
  }

private:
  int half_;
  std::vector<double> light_;
};

}  // namespace

EdgeWindow edge_window(const EdgeBand& band, const std::vector<double>& middles, double sign) {
  const int half = static_cast<int>(band.reach_px);
  const MedianProfile profile(band, middles, half);
  EdgeWindow window;
  double inside = profile.level(-5, -3), outside = profile.level(3, 5);
  if (std::isnan(inside)) inside = profile.level(-half, -1);
  if (std::isnan(outside)) outside = profile.level(1, half);
  window.contrast = sign * (outside - inside);
  const double steepest = profile.steepest(sign);
  window.blur_px =
      steepest > 0 ? std::clamp(window.contrast / (steepest * std::sqrt(2 * kPi)), 0.45, 6.0) : 1;
  const double start = 3 * window.blur_px + 1;
  const double widest = std::max(kWidestWindow_px, kWindowBlurs * window.blur_px);
  const auto clear = [&](int side) {
    const double near = side > 0 ? profile.level(start, start + 2) : profile.level(-start - 2, -start);
    double reach = start;
    for (double s = start; s <= half; s += 0.5) {
      const double v = profile.at(side * s);
      if (std::isnan(v) || std::isnan(near) || std::abs(v - near) > 0.12 * std::abs(window.contrast)) break;
      reach = s;
    }
    return std::clamp(reach > start ? reach - 1 : start, std::min(3.0, band.reach_px), widest);
  };
  window.inner_px = clear(-1), window.outer_px = clear(1);
  return window;
}

}  // namespace rondure
