#include "photo/edge/edge_placing.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <type_traits>
#include <utility>

#include "photo/edge/edge_clipping.hpp"
#include "photo/edge/edge_coarse.hpp"
#include "photo/edge/edge_sums.hpp"
#include "photo/edge/edge_window.hpp"
#include "photo/edge/normal_table.hpp"
#include "photo/edge/positive_median.hpp"
#include "rondure/core/median.hpp"
#include "rondure/core/normal_law.hpp"

namespace rondure {
namespace {

constexpr double kLevelStretch_px = 40;  // levels are common to so much of the edge
constexpr double kClippedShare = 0.01;   // above this the clipped samples are left out of the model
// In an over-exposed picture samples from here on are left out too: JPEG lets clipped light ring below full
// scale.
constexpr double kNearFullScale = 0.85;
constexpr int kRounds = 7, kSlopesDecided = 3;  // at most; the round that weighs slopes of the levels
constexpr int kSectorsForNoise = 500;           // evenly picked: some 4000 pixels tell the noise to 2 %
constexpr double kSettled = 0.002;  // steps, of their standard uncertainty: rms of the sectors, and the blur
constexpr double kModelShare = 5e-4;  // of the contrast: what a blurred step leaves of a round edge
constexpr double kLeastSlope =
    0.003;  // of the contrast over one blur: less moves the edge by a thousandth of a pixel

class Placing {
public:
  Placing(const EdgeBand& band, bool dark_inside)
      : band_(band), sign_(dark_inside ? 1 : -1), count_(static_cast<int>(band.sectors.size())) {}

  PlacedEdge run() {
    PlacedEdge edge;
    if (count_ < 8 || !start()) return edge;
    measure_clipping(edge);
    fit();
    if (edge.clipped_share > kClippedShare) {
      edge.clipping_shift_px = undo_clipping();
      edge.u_clipping_px = u_clipping_px_;
    }
    collect(edge);
    return edge;
  }

private:
  struct State : SectorStep {
    bool alive = true;
    double center_px = 0;    // middle of the sector's window
    double information = 0;  // of d with the levels known, 1/px^2
    double chi2 = 0, weight = 0;
  };

  const Sector& sector(int k) const { return band_.sectors[k]; }
  // Of less than one turn beyond either end: a stretch is no more than a sixth of it.
  int around(int k) const { return k < 0 ? k + count_ : k < count_ ? k : k - count_; }

  // The edge's rough place and the windows about it; false when there is none.
  bool start() {
    const std::vector<double> coarse = coarse_places(band_, sign_);
    if (coarse.empty()) return false;
    const std::vector<double> middles = window_middles(coarse);
    states_.assign(middles.size(), {});
    for (int k = 0; k < count_; ++k) {
      states_[k].alive = !std::isnan(middles[k]);
      if (states_[k].alive) states_[k].center_px = states_[k].d_px = middles[k];
    }
    const EdgeWindow window = edge_window(band_, middles, sign_);
    contrast_ = window.contrast, blur_px_ = window.blur_px;
    window_in_ = window.inner_px, window_out_ = window.outer_px;
    gather_windows();
    double length_px = 0;
    for (const Sector& s : band_.sectors) length_px += s.length_px;
    stretch_ =
        std::clamp(static_cast<int>(0.5 * kLevelStretch_px * count_ / length_px), 2, std::max(2, count_ / 6));
    return true;
  }

  // The pixels within each sector's window: all that the rounds look at.
  void gather_windows() {
    windows_.assign(1, 0);
    for (auto* list : {&pixels_.s_px, &pixels_.light, &pixels_.counts}) list->reserve(band_.pixels.size());
    touches_.reserve(band_.pixels.size());
    const auto put = [&](const BandPixel& pixel, float counts) {
      pixels_.s_px.push_back(pixel.s_px), pixels_.light.push_back(pixel.light);
      pixels_.counts.push_back(counts), touches_.push_back(touches_full_scale(pixel));
    };
    for (int k = 0; k < count_; ++k) {
      const double center = states_[k].center_px;
      for (int i = sector(k).begin; i < sector(k).end && states_[k].alive; ++i) {
        const double from_center = band_.pixels[i].s_px - center;
        if (from_center >= -window_in_ && from_center <= window_out_) put(band_.pixels[i], 1);
      }
      while (pixels_.s_px.size() % WindowPixels::kSideBySide != 0)
        put({static_cast<float>(center), 0, false}, 0);
      windows_.push_back(static_cast<int>(pixels_.s_px.size()));
    }
  }

  void measure_clipping(PlacedEdge& edge) const {
    int bright = 0, clipped = 0;
    for (int k = 0; k < count_; ++k) {
      if (!states_[k].alive) continue;
      for (int i = sector(k).begin; i < sector(k).end; ++i) {
        const double s = sign_ * (band_.pixels[i].s_px - states_[k].center_px);
        if (s <= blur_px_ || s > 5 + blur_px_) continue;
        ++bright;
        clipped += band_.pixels[i].clipped;
      }
    }
    edge.clipped_share = bright ? static_cast<double>(clipped) / bright : 0;
  }

  static bool touches_full_scale(const BandPixel& pixel) {
    return pixel.clipped || pixel.light > kNearFullScale;
  }

  template <class Use>
  void each_pixel(int k, Use use) const {
    const State& state = states_[k];
    for (int i = windows_[k]; i < windows_[k + 1]; ++i) {
      if (pixels_.counts[i] == 0) continue;
      const double t = sign_ * (pixels_.s_px[i] - state.d_px);  // towards the bright side
      if constexpr (std::is_invocable_v<Use, double, double, bool>)
        use(t, static_cast<double>(pixels_.light[i]), touches_[i] != 0);
      else
        use(t, static_cast<double>(pixels_.light[i]));
    }
  }

  void leave_out_clipped() {
    for (std::size_t i = 0; i < touches_.size(); ++i)
      if (touches_[i]) pixels_.counts[i] = 0;
  }

  StepLaw law(bool robust) const {
    return {sign_, blur_px_, noise_dark_ * noise_dark_, noise_bright_ * noise_bright_, robust};
  }

  double model(const State& s, double t, double bright_share) const {
    return (s.dark + s.dark_slope * t) * (1 - bright_share) + (s.bright + s.bright_slope * t) * bright_share;
  }
  double variance(double bright_share) const {
    return noise_dark_ * noise_dark_ +
           bright_share * (noise_bright_ * noise_bright_ - noise_dark_ * noise_dark_);
  }
  void fit() {
    noise_dark_ = noise_bright_ = std::max(0.02 * std::abs(contrast_), 0.3 * band_.quantum_light);
    for (int round = 0; round < kRounds; ++round) {
      fit_levels(round);
      if (round >= 1) measure_noise();
      if (round == kSlopesDecided) decide_slopes();
      const double moved = fit_displacements(round);
      const double blurred = round >= 1 ? fit_blur() : 1;
      if (round > kSlopesDecided && moved < kSettled && blurred < kSettled) break;
    }
    fit_levels(kRounds);
    measure_noise();
    fit_displacements(kRounds);
  }

  // Of the constant levels alone.
  static Eigen::Vector2d two_levels_of(const Eigen::Matrix2d& normal, const Eigen::Vector2d& right) {
    const double hair = 1e-9 * std::max(normal(0, 0), normal(1, 1));
    const double a = normal(0, 0) + hair, b = normal(0, 1), c = normal(1, 1) + hair, det = a * c - b * b;
    if (!(det > 0)) return Eigen::Vector2d::Zero();
    return {(c * right[0] - b * right[1]) / det, (a * right[1] - b * right[0]) / det};
  }

  static Eigen::Vector4d levels_of(const Eigen::Matrix4d& normal, const Eigen::Vector4d& right) {
    Eigen::Matrix4d part = normal;
    part.diagonal().array() += 1e-9 * part.diagonal().maxCoeff();
    return part.ldlt().solve(right);
  }

  // Of each sector's stretch, by running sums of its normal equations' first `terms`.
  template <int terms, class Solve>
  void solve_levels(Solve solve) {
    using Normal = Eigen::Matrix<double, terms, terms>;
    using Right = Eigen::Matrix<double, terms, 1>;
    const int half = stretch_;
    Normal n = Normal::Zero();
    Right r = Right::Zero();
    const auto normal = [&](int k) { return normals_[around(k)].template topLeftCorner<terms, terms>(); };
    const auto right = [&](int k) { return rights_[around(k)].template head<terms>(); };
    for (int k = -half; k < half; ++k) n += normal(k), r += right(k);
    for (int k = 0; k < count_; ++k) {
      n += normal(k + half), r += right(k + half);
      Eigen::Vector4d x = Eigen::Vector4d::Zero();
      x.template head<terms>() = solve(n, r);
      State& s = states_[k];
      s.dark = x[0], s.bright = x[1], s.dark_slope = x[2], s.bright_slope = x[3];
      n -= normal(k - half), r -= right(k - half);
    }
  }

  // Levels of each sector from the stretch around it: weighted linear least squares.
  void fit_levels(int round) {
    const bool with_slopes = slopes_ || round == kSlopesDecided;
    const StepLaw law = this->law(round > 1);
    normals_.assign(static_cast<std::size_t>(count_), Eigen::Matrix4d::Zero());
    rights_.assign(static_cast<std::size_t>(count_), Eigen::Vector4d::Zero());
    for (int k = 0; k < count_; ++k) {
      if (!states_[k].alive) continue;
      const auto [dd, db, bb, dl, bl] =
          level_sums(pixels_, windows_[k], windows_[k + 1], states_[k], law, with_slopes);
      normals_[k] << dd[0], db[0], dd[1], db[1], db[0], bb[0], db[1], bb[1], dd[1], db[1], dd[2], db[2],
          db[1], bb[1], db[2], bb[2];
      rights_[k] << dl[0], bl[0], dl[1], bl[1];
    }
    if (slopes_)
      solve_levels<4>([](const auto& n, const auto& r) { return levels_of(n, r); });
    else
      solve_levels<2>([](const auto& n, const auto& r) { return two_levels_of(n, r); });
  }

  void measure_noise() {
    std::vector<double> dark, bright;
    dark.reserve(pixels_.s_px.size()), bright.reserve(pixels_.s_px.size());
    for (int k = 0; k < count_; k += std::max(1, count_ / kSectorsForNoise)) {
      if (!states_[k].alive) continue;
      each_pixel(k, [&](double t, double light) {
        if (std::abs(t) < 2.5 * blur_px_) return;
        (t < 0 ? dark : bright).push_back(std::abs(light - model(states_[k], t, t < 0 ? 0 : 1)));
      });
    }
    // The model itself is good to a few parts in ten thousand of the contrast: a noiseless picture shall not
    // take that for outliers.
    const double floor = std::max(0.15 * band_.quantum_light, kModelShare * std::abs(contrast_));
    if (dark.size() > 20) noise_dark_ = std::max(1.4826 * positive_median(dark), floor);
    if (bright.size() > 20) noise_bright_ = std::max(1.4826 * positive_median(bright), floor);
  }

  // Light that runs up or down beside the edge (shadows, rounded rims) moves it: slopes are fitted when they
  // show, and are large enough to matter.
  void decide_slopes() {
    std::vector<double> gains, sizes;
    Eigen::Matrix4d n = Eigen::Matrix4d::Zero();
    Eigen::Vector4d r = Eigen::Vector4d::Zero();
    for (int k = 0; k < count_; k += std::max(1, stretch_)) {
      n.setZero(), r.setZero();
      for (int j = -stretch_; j <= stretch_; ++j) n += normals_[around(k + j)], r += rights_[around(k + j)];
      if (n(0, 0) <= 0) continue;
      const Eigen::Vector2d two = n.topLeftCorner<2, 2>().ldlt().solve(r.head<2>());
      const Eigen::Vector4d four = n.ldlt().solve(r);
      gains.push_back(four.dot(r) - two.dot(r.head<2>()));
      sizes.push_back(four.tail<2>().cwiseAbs().maxCoeff());
    }
    if (gains.empty()) return;
    const auto high = [](std::vector<double>& v) {  // eight in ten are below
      const auto at = v.begin() + static_cast<std::ptrdiff_t>(v.size() * 8 / 10);
      std::nth_element(v.begin(), at, v.end());
      return *at;
    };
    // Chi-squared of two: 16 is met by chance once in 3000 where light is even.
    slopes_ = high(gains) > 16 && high(sizes) * blur_px_ > kLeastSlope * std::abs(contrast_);
  }

  // Rms of the steps, each in its standard uncertainty.
  double fit_displacements(int round) {
    const StepLaw law = this->law(round > 2);
    double squares = 0, alive = 0;
    for (int k = 0; k < count_; ++k) {
      State& s = states_[k];
      if (!s.alive) continue;
      const auto [grad, info, chi2, weight] =
          displacement_sums(pixels_, windows_[k], windows_[k + 1], s, law);
      s.information = info;
      s.chi2 = chi2, s.weight = weight;
      if (!(info > 0)) {
        s.alive = false;
        continue;
      }
      const double step = std::clamp(grad / info, -0.5, 0.5);
      s.d_px += step;
      squares += step * step * info, alive += 1;
    }
    return std::sqrt(squares / std::max(1.0, alive));
  }

  // One blur for the whole edge. Its step, in its standard uncertainty.
  double fit_blur() {
    const StepLaw law = this->law(true);
    double grad = 0, info = 0;
    for (int k = 0; k < count_; ++k) {
      if (!states_[k].alive) continue;
      const StepSums sums = blur_sums(pixels_, windows_[k], windows_[k + 1], states_[k], law);
      grad += sums.gradient, info += sums.information;
    }
    blur_information_ = info;
    if (!(info > 0)) return 0;
    const double before = blur_px_;
    blur_px_ = std::clamp(blur_px_ + std::clamp(grad / info, -0.3, 0.3), 0.3, 8.0);
    return std::abs(blur_px_ - before) * std::sqrt(info);
  }

  // Clipped light hides the bright level. What is left of the profile, all sectors together, still tells it
  // with the blur. Then every sector again with these. Returns how far clipping had moved the edge outwards.
  double undo_clipping() {
    StepProfile profile;
    std::vector<double> before, darks, brights;
    for (int k = 0; k < count_; ++k) {
      const State& s = states_[k];
      if (s.alive) darks.push_back(s.dark), brights.push_back(s.bright);
      const double moved = sign_ * (s.d_px - s.center_px);
      if (!s.alive || std::abs(moved) >= 1) continue;
      before.push_back(moved);
      each_pixel(k, [&](double t, double light, bool clipped) { profile.add(t + moved, light, clipped); });
    }
    leave_out_clipped();
    const double d0 = median(before);
    const ClippedStep step = fit_clipped_step(profile, {median(darks), 1.2 * median(brights), d0, blur_px_},
                                              [this](double share) { return variance(share); });
    blur_px_ = step.blur_px, u_clipping_px_ = step.u_d_px;
    for (State& s : states_) {
      s.dark = step.dark, s.bright = step.bright, s.dark_slope = s.bright_slope = 0;
      s.d_px += sign_ * (step.d_px - d0);
    }
    slopes_ = false;
    for (int round = 0; round < 4; ++round) fit_displacements(kRounds);
    return sign_ * (d0 - step.d_px);
  }

  // Share of the information on a common displacement that free levels leave, from the stretch around sector
  // k.
  double information_left(int k) const {
    return slopes_ ? information_left_of<4>(k) : information_left_of<2>(k);
  }

  template <int terms>
  double information_left_of(int k) const {
    using Levels = Eigen::Matrix<double, terms, 1>;
    Levels cross = Levels::Zero();
    Eigen::Matrix<double, terms, terms> levels = Eigen::Matrix<double, terms, terms>::Zero();
    double info = 0;
    for (int j = -stretch_; j <= stretch_; ++j) {
      const State& s = states_[around(k + j)];
      if (!s.alive) continue;
      const double rise = s.bright - s.dark;
      each_pixel(around(k + j), [&](double t, double) {
        const double z = t / blur_px_, b = normal_.share(z), w = 1 / variance(b),
                     slope = -sign_ * rise * normal_.bell(z) / blur_px_;
        Levels row;
        row.template head<2>() << 1 - b, b;
        if constexpr (terms == 4) row.template tail<2>() << (1 - b) * t, b * t;
        levels.noalias() += w * row * row.transpose();
        cross += w * slope * row;
        info += w * slope * slope;
      });
    }
    if (!(info > 0)) return 1;
    return std::clamp(1 - cross.dot(levels.ldlt().solve(cross)) / info, 0.05, 1.0);
  }

  void collect(PlacedEdge& edge) {
    std::vector<double> rises, darks, brights, scatter;
    for (const State& s : states_)
      if (s.alive) rises.push_back(s.bright - s.dark), darks.push_back(s.dark), brights.push_back(s.bright);
    const double rise = median(rises);
    if (rise < 3 * band_.quantum_light) return;
    std::vector<double> left;
    for (int k = 0; k < count_; k += std::max(1, count_ / 24))
      if (states_[k].alive) left.push_back(information_left(k));
    const double left_share = left.empty() ? 1 : median(left);
    // Noise around the edge may be larger than beside it (JPEG): the typical misfit scales all sectors.
    for (const State& s : states_)
      if (s.alive && s.weight > 4) scatter.push_back(s.chi2 / (s.weight - 1));
    const double typical_chi2 = std::max(1.0, median(scatter));
    edge.blur_px = blur_px_;
    if (blur_information_ > 0) edge.u_blur_px = std::sqrt(typical_chi2 / blur_information_);
    edge.dark_light = median(darks), edge.bright_light = median(brights);
    edge.noise_dark = noise_dark_, edge.noise_bright = noise_bright_;
    for (int k = 0; k < count_; ++k) {
      const State& s = states_[k];
      const double misfit = s.weight > 2 ? s.chi2 / (s.weight - 1) / typical_chi2 : 1;
      const double offset = s.d_px - s.center_px;
      const bool good = s.alive && s.bright - s.dark > 0.3 * rise && misfit < 12 &&
                        offset > -0.8 * window_in_ && offset < 0.8 * window_out_;
      if (!good) {
        ++edge.sectors_missing;
        continue;
      }
      const double sigma =
          std::sqrt(typical_chi2 * std::max(1.0, misfit > 3 ? misfit : 1.0) / (s.information * left_share));
      const double bend = blur_px_ * blur_px_ / (2 * sector(k).curvature_radius_px);
      edge.sectors.push_back({k, s.d_px + bend, sigma});
    }
  }

  const EdgeBand& band_;
  const double sign_;  // +1: light rises outwards
  const int count_;
  std::vector<State> states_;
  WindowPixels pixels_;
  std::vector<char> touches_;  // full scale
  std::vector<int> windows_;   // where each sector's begin, and the end
  std::vector<Eigen::Matrix4d> normals_;
  std::vector<Eigen::Vector4d> rights_;
  double blur_px_ = 1, contrast_ = 0, noise_dark_ = 0.01, noise_bright_ = 0.01;
  double window_in_ = 8, window_out_ = 8;
  double blur_information_ = 0, u_clipping_px_ = 0;
  int stretch_ = 10;
  bool slopes_ = false;
  const NormalTable& normal_ = normal_table();
};

}  // namespace

PlacedEdge place_edge(const EdgeBand& band, bool dark_inside) { return Placing(band, dark_inside).run(); }

}  // namespace rondure
