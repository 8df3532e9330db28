// What the views say together: of ink and tone, and where they leave the lens unknown.
#include <algorithm>
#include <cmath>

#include "photo/camera/calibration_views.hpp"
#include "photo/tone/paper_spread.hpp"

namespace rondure {
namespace {

constexpr int kCells = 3;  // the picture in 3 x 3 regions

}  // namespace

// Weights even: the noise of delta is far below the model's own faults. Light that spreads in the paper
// makes white come on late: what of it does not go with the scale, its third moment, would be taken for ink
// and tone and is in the ink's uncertainty.
std::optional<InkAndTone> ink_and_tone(const std::vector<WorkedView>& works) {
  Eigen::Matrix2d n = Eigen::Matrix2d::Zero();
  Eigen::Vector2d g = Eigen::Vector2d::Zero(), from_paper = Eigen::Vector2d::Zero();
  for (const WorkedView& w : works) {
    const Eigen::Vector2d row(w.px_per_mm, w.blur_px);
    n += row * row.transpose();
    g += row * (w.view.growth_mm * w.px_per_mm);
    from_paper += row * (kPaperSkew * std::pow(kPaperSpread_mm * w.px_per_mm, 3) / (w.blur_px * w.blur_px));
  }
  const Eigen::Vector2d scale = n.diagonal().cwiseSqrt();
  const double correlation = n(0, 1) / (scale(0) * scale(1));
  if (works.size() < 4 || 1 - correlation * correlation < 1e-3) return {};
  const Eigen::Vector2d x = n.inverse() * g;
  double ssq = 0;
  for (const WorkedView& w : works)
    ssq += std::pow(w.view.growth_mm * w.px_per_mm - x(0) * w.px_per_mm - x(1) * w.blur_px, 2);
  const double sd = std::max(std::sqrt(ssq / static_cast<double>(works.size() - 2)), 0.003);  // px
  const double paper_mm = (n.inverse() * from_paper)(0);
  const double u = std::hypot(sd * std::sqrt(n.inverse()(0, 0)), paper_mm);
  return InkAndTone{{x(0), u}, x(1)};
}

std::vector<Warning> coverage_warnings(const std::vector<WorkedView>& works, int width, int height) {
  int seen[kCells][kCells] = {};
  for (const WorkedView& w : works)
    for (const SideFit& s : w.view.sides)
      if (s.used) {
        const int x = std::clamp(static_cast<int>(s.middle_px.x() * kCells / width), 0, kCells - 1);
        const int y = std::clamp(static_cast<int>(s.middle_px.y() * kCells / height), 0, kCells - 1);
        ++seen[y][x];
      }
  static constexpr const char* kRows[] = {"upper", "middle", "lower"};
  static constexpr const char* kColumns[] = {"left", "centre", "right"};
  std::string gaps;
  for (int y = 0; y < kCells; ++y)
    for (int x = 0; x < kCells; ++x)
      if (seen[y][x] < 8) gaps += (gaps.empty() ? "" : ", ") + std::string(kRows[y]) + " " + kColumns[x];
  if (gaps.empty()) return {};
  return {{"views-leave-gaps",
           "no view shows the board in the " + gaps + " of the picture: the lens is not known there"}};
}

}  // namespace rondure
