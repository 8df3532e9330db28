#include "photo/board/board_sides.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>
#include <cmath>

#include "photo/edge/normal_table.hpp"
#include "rondure/core/parallel.hpp"

namespace rondure {
namespace {

// Light tabulated, beyond 0 and 1 as far as a fit's levels may run on the way. Linear between nodes: within
// 1.4e-5 of full scale, a level of 16 bits, where sRGB bends most (step^2 / 8 times its second derivative).
constexpr int kTableSize = 8192;
constexpr double kTableFrom = -0.25, kTableTo = 1.5;
constexpr double kTableStep = (kTableTo - kTableFrom) / kTableSize;
constexpr double kEndsBlurs = 3.5, kEndsPx = 1.5;                 // left out at each end of a side
constexpr double kBandPx = 4.5, kBandBlurs = 4, kBandMorePx = 1;  // half width of the band
constexpr double kLeastLengthPx = 5;  // left between the ends: with its band some 50 pixels for 5 numbers
constexpr double kRobustSds = 3.5;    // residuals beyond get falling weight
constexpr int kIterations = 12;       // a fit that still moves by 0.02 after so many is none; by judgement

}  // namespace

ToneTable::ToneTable(const ToneCurve& curve) : values_(kTableSize + 2) {
  for (int i = 0; i < kTableSize + 2; ++i)
    values_[static_cast<std::size_t>(i)] = curve.sample(kTableFrom + i * kTableStep);
}

void ToneTable::at(double light, double& value, double& slope) const {
  const double place = (std::clamp(light, kTableFrom, kTableTo - 1e-9) - kTableFrom) / kTableStep;
  const auto i = static_cast<std::size_t>(place);
  slope = (values_[i + 1] - values_[i]) / kTableStep;
  value = values_[i] + (light - (kTableFrom + static_cast<double>(i) * kTableStep)) * slope;
}

double side_band_half_width_px(double blur_px) {
  return std::max(kBandPx, kBandBlurs * blur_px + kBandMorePx);
}

std::vector<BoardSide> sides_of(const FoundBoard& board, double sq) {
  std::vector<BoardSide> sides;
  const auto point = [&](int column, int row) { return Eigen::Vector2d(column * sq, -row * sq); };
  const auto add = [&](int c0, int r0, int c1, int r1, bool white_right_or_down, bool outer) {
    const Eigen::Vector2d normal = c0 == c1 ? Eigen::Vector2d(1, 0) : Eigen::Vector2d(0, -1);
    sides.push_back(
        {point(c0, r0), point(c1, r1), white_right_or_down ? normal : Eigen::Vector2d(-normal), outer});
  };
  const int columns = board.columns, rows = board.rows;
  for (int c = 0; c < columns; ++c)  // lines between column squares c - 1 and c
    for (int r = -1; r < rows; ++r) add(c, r, c, r + 1, board.black(c - 1, r), false);
  for (int r = 0; r < rows; ++r)
    for (int c = -1; c < columns; ++c) add(c, r, c + 1, r, board.black(c, r - 1), false);
  for (int r = -1; r < rows; ++r) {
    if (board.border_left && board.black(-1, r)) add(-1, r, -1, r + 1, false, true);
    if (board.border_right && board.black(columns - 1, r)) add(columns, r, columns, r + 1, true, true);
  }
  for (int c = -1; c < columns; ++c) {
    if (board.border_top && board.black(c, -1)) add(c, -1, c + 1, -1, false, true);
    if (board.border_bottom && board.black(c, rows - 1)) add(c, rows, c + 1, rows, true, true);
  }
  return sides;
}

namespace {

struct BandPixel {
  double s, t, value;
};

struct Band {
  std::vector<BandPixel> pixels;
  double half_length_mm = 0;  // of the used part
  double clipped_share = 0;
};

// The pixels of one side's band, in the frame (s, t) of its predicted line.
Band collect_band(const Picture& picture, const PlaneMap& map, const BoardSide& side,
                  const SideFitOptions& options) {
  Band band;
  Eigen::Vector2d from, to;
  if (!map.pixel(side.from_mm, from) || !map.pixel(side.to_mm, to)) return band;
  const double length_px = (to - from).norm(), length_mm = (side.to_mm - side.from_mm).norm();
  const double ends_px =
      std::min(kEndsBlurs * options.blur_px + kEndsPx + std::abs(options.shift_px), 0.3 * length_px);
  if (length_px - 2 * ends_px < kLeastLengthPx) return band;
  const double half_width = std::min(side_band_half_width_px(options.blur_px), 0.45 * length_px);
  band.half_length_mm = length_mm / 2 * (1 - 2 * ends_px / length_px);
  const Eigen::Vector2d middle_mm = (side.from_mm + side.to_mm) / 2,
                        along_mm = (side.to_mm - side.from_mm) / length_mm;
  const Eigen::Vector2d along = (to - from) / length_px, across(-along.y(), along.x());
  const double reach =
      half_width + 2.5;  // the straight chord stands in for the curved line in this first sieve
  const int x0 = std::max(0, static_cast<int>(std::min(from.x(), to.x()) - reach));
  const int x1 = std::min(picture.width_px - 1, static_cast<int>(std::max(from.x(), to.x()) + reach) + 1);
  const int y0 = std::max(0, static_cast<int>(std::min(from.y(), to.y()) - reach));
  const int y1 = std::min(picture.height_px - 1, static_cast<int>(std::max(from.y(), to.y()) + reach) + 1);
  const double full = picture.full_scale();
  const double expected = 2 * half_width * (length_px - 2 * ends_px);
  const int stride =
      std::max(1, static_cast<int>(std::ceil(expected / static_cast<double>(options.most_pixels))));
  const bool steep = std::abs(along.y()) > std::abs(along.x());  // thin out along the side, never across it
  int light_pixels = 0, clipped = 0;
  for (int y = y0; y <= y1; ++y)
    for (int x = x0; x <= x1; ++x) {
      if (stride > 1 && (steep ? y : x) % stride != 0) continue;
      const Eigen::Vector2d pixel(x, y);
      if (std::abs(across.dot(pixel - from)) > reach) continue;
      Eigen::Vector2d part;
      Eigen::Matrix2d slope;
      if (!map.part(pixel, part, slope)) continue;
      const double t = along_mm.dot(part - middle_mm) / band.half_length_mm;
      if (std::abs(t) > 1) continue;
      const double s =
          side.toward_white_mm.dot(part - side.from_mm) / (slope.transpose() * side.toward_white_mm).norm();
      if (std::abs(s) > half_width) continue;
      const double value = picture.at(x, y) / full;
      if (s > 0) ++light_pixels, clipped += value >= 1;
      band.pixels.push_back({s, t, value});
    }
  band.clipped_share = light_pixels > 0 ? static_cast<double>(clipped) / light_pixels : 0;
  return band;
}

using Vector5 = Eigen::Matrix<double, 5, 1>;
using Matrix5 = Eigen::Matrix<double, 5, 5>;

struct ProfileFit {
  Vector5 p;  // A, B, d0, d1, sb
  Matrix5 cofactor;
  double rms = 0;
  bool good = false;
};

// Gauss-Newton with falling weight for outliers (Huber).
ProfileFit fit_profile(const Band& band, const ToneCurve& curve, const ToneTable& tone, double blur_px) {
  ProfileFit fit;
  double dark = 0, light = 0;
  int dark_count = 0, light_count = 0;
  for (const BandPixel& b : band.pixels) {
    if (b.s < -2) dark += b.value, ++dark_count;
    if (b.s > 2) light += b.value, ++light_count;
  }
  if (dark_count < 5 || light_count < 5 || band.pixels.size() < 20) return fit;
  const double a = curve.light(dark / dark_count);
  fit.p << a, curve.light(light / light_count) - a, 0, 0, blur_px;
  if (fit.p(1) < 0.01) return fit;
  double limit = 1e9, previous = 1e300;
  const NormalTable& normal = normal_table();
  for (int iteration = 0; iteration < kIterations; ++iteration) {
    Matrix5 n = Matrix5::Zero();
    Vector5 g = Vector5::Zero();
    double ssq = 0, weights = 0, absolute = 0;
    for (const BandPixel& b : band.pixels) {
      const double z = (b.s - fit.p(2) - fit.p(3) * b.t) / fit.p(4);
      const double phi = normal.share(z), density = normal.bell(z);
      double value = 0, slope = 0;
      tone.at(fit.p(0) + fit.p(1) * phi, value, slope);
      const double r = b.value - value, w = std::abs(r) > limit ? limit / std::abs(r) : 1;
      const double peak = -slope * fit.p(1) * density / fit.p(4);
      const Vector5 j(slope, slope * phi, peak, peak * b.t, peak * z);
      n.noalias() += w * j * j.transpose();
      g.noalias() += w * r * j;
      ssq += w * r * r, weights += w, absolute += std::abs(r);
    }
    const double count = static_cast<double>(band.pixels.size());
    fit.rms = std::sqrt(ssq / std::max(1.0, weights - 5));
    limit = kRobustSds *
            std::max(1.2533 * absolute / count, 0.3 / 255);  // mean |r| of the normal law is 0.798 sd
    const Eigen::LDLT<Matrix5> factor(n);
    if (factor.info() != Eigen::Success) return fit;
    Vector5 step = factor.solve(g);
    if (!step.allFinite()) return fit;
    const double damp = std::max(
        {1.0, std::abs(step(2)) / 1.0, std::abs(step(3)) / 1.0, std::abs(step(4)) / (0.5 * fit.p(4))});
    fit.p += step / damp;
    fit.p(4) = std::clamp(fit.p(4), 0.25, 8.0);
    if (std::abs(fit.p(2)) > 6 || std::abs(fit.p(3)) > 6 || fit.p(1) < 0.005) return fit;
    if (iteration > 2 && std::abs(step(2)) + std::abs(step(3)) < 1e-5 &&
        std::abs(previous - ssq) <= 1e-5 * ssq) {
      fit.cofactor = factor.solve(Matrix5::Identity());
      fit.good = true;
      break;
    }
    if (iteration + 1 == kIterations)
      fit.cofactor = factor.solve(Matrix5::Identity()), fit.good = step.head<4>().norm() < 0.02;
    previous = ssq;
  }
  return fit;
}

// One more step with the He2 and He3 terms besides: what they would be.
void add_shape(const Band& band, const ToneTable& tone, const ProfileFit& fit, SideFit& side) {
  using Vector7 = Eigen::Matrix<double, 7, 1>;
  Eigen::Matrix<double, 7, 7> n = Eigen::Matrix<double, 7, 7>::Zero();
  Vector7 g = Vector7::Zero();
  const double limit = kRobustSds * std::max(fit.rms, 0.3 / 255);
  const NormalTable& normal = normal_table();
  for (const BandPixel& b : band.pixels) {
    const double z = (b.s - fit.p(2) - fit.p(3) * b.t) / fit.p(4);
    const double phi = normal.share(z), density = normal.bell(z);
    double value = 0, slope = 0;
    tone.at(fit.p(0) + fit.p(1) * phi, value, slope);
    const double r = b.value - value, w = std::abs(r) > limit ? limit / std::abs(r) : 1;
    const double rise = slope * fit.p(1) * density;
    Vector7 j;
    j << slope, slope * phi, -rise / fit.p(4), -rise * b.t / fit.p(4), -rise * z / fit.p(4),
        rise * (z * z - 1), rise * z * (z * z - 3);
    n.noalias() += w * j * j.transpose();
    g.noalias() += w * r * j;
  }
  const Vector7 step = n.ldlt().solve(g);
  side.skew = step(5), side.peak = step(6);
}

SideFit fit_side(const Picture& picture, const PlaneMap& map, const BoardSide& side, const ToneCurve& curve,
                 const ToneTable& tone, const SideFitOptions& options) {
  SideFit out;
  out.outer = side.outer;
  const Band band = collect_band(picture, map, side, options);
  out.clipped_share = band.clipped_share;
  if (band.pixels.empty()) return out;
  const ProfileFit fit = fit_profile(band, curve, tone, options.blur_px);
  if (!fit.good) return out;
  if (options.with_shape) add_shape(band, tone, fit, out);
  out.dark_light = fit.p(0), out.contrast = fit.p(1), out.offset_px = fit.p(2), out.turn_px = fit.p(3),
  out.blur_px = fit.p(4), out.rms = fit.rms;
  // Rounding to whole values adds 1/12 of a step squared at least; a noiseless picture would else count as
  // exact.
  const double noise = std::max(fit.rms, 0.29 / picture.full_scale());
  out.sd_offset_px = noise * std::sqrt(fit.cofactor(2, 2));
  const double sd_turn = noise * std::sqrt(fit.cofactor(3, 3));
  const Eigen::Vector2d middle_mm = (side.from_mm + side.to_mm) / 2,
                        along_mm = (side.to_mm - side.from_mm).normalized();
  if (!map.pixel(middle_mm, out.middle_px)) return out;
  for (int k = 0; k < 2; ++k) {
    const double t = (k == 0 ? -1 : 1) / std::sqrt(3.0);
    EdgeObservation& o = out.observation[k];
    o.board_mm = middle_mm + t * band.half_length_mm * along_mm;
    o.normal_board = side.toward_white_mm;
    Eigen::Vector2d pixel, part;
    Eigen::Matrix2d slope;
    if (!map.pixel(o.board_mm, pixel) || !map.part(pixel, part, slope)) return out;
    const Eigen::Vector2d gradient = slope.transpose() * side.toward_white_mm;  // mm per px
    o.px_per_mm = 1 / gradient.norm();
    o.normal_px = gradient.normalized();
    o.q_px = pixel + (fit.p(2) + t * fit.p(3)) * o.normal_px;
    // With t = +-1/sqrt(3) the two displacements have variance var(d0) + var(d1)/3 = 2 var(d0), and no
    // covariance.
    o.sd_px = std::sqrt(out.sd_offset_px * out.sd_offset_px + sd_turn * sd_turn / 3);
  }
  out.used = std::isfinite(out.observation[0].sd_px) && out.observation[0].sd_px > 0;
  return out;
}

}  // namespace

std::vector<SideFit> fit_sides(const Picture& picture, const PlaneMap& map,
                               const std::vector<BoardSide>& sides, const ToneCurve& curve,
                               const SideFitOptions& options) {
  const ToneTable tone(curve);
  std::vector<SideFit> fits(sides.size());
  in_parallel(static_cast<int>(sides.size()),
              [&](int i) { fits[i] = fit_side(picture, map, sides[i], curve, tone, options); });
  return fits;
}

}  // namespace rondure
