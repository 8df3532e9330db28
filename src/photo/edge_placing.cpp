#include "edge_placing.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

namespace rondure {
namespace {

constexpr double kWidestWindow_px = 16;  // either side; wider knows the levels better but meets other things
constexpr double kLevelStretch_px = 40;  // levels are common to so much of the edge
constexpr double kClippedShare = 0.01;   // above this the clipped samples are left out of the model
constexpr int kRounds = 7;

double phi(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2 * kPi); }
double big_phi(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

double median(std::vector<double> v) {
  if (v.empty()) return 0;
  const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

class Placing {
public:
  Placing(const EdgeBand& band, bool dark_inside)
      : band_(band), sign_(dark_inside ? 1 : -1), count_(static_cast<int>(band.sectors.size())) {}

  PlacedEdge run() {
    PlacedEdge edge;
    if (count_ < 8 || !find_coarse()) return edge;
    predict();
    choose_window();
    measure_clipping(edge);
    fit();
    if (edge.clipped_share > kClippedShare) {
      edge.clipping_shift_px = undo_clipping();
    }
    collect(edge);
    return edge;
  }

private:
  struct State {
    bool alive = true;
    double center_px = 0;                     // middle of the sector's window
    double d_px = 0;                          // displacement
    double dark = 0, bright = 0;              // levels
    double dark_slope = 0, bright_slope = 0;  // light per px
    double information = 0;                   // of d with the levels known, 1/px^2
    double lost = 1;                          // share of it that free levels leave
    double chi2 = 0, weight = 0;
  };

  const Sector& sector(int k) const { return band_.sectors[k]; }
  int around(int k) const { return (k % count_ + count_) % count_; }

  // The edge's place per sector to about 0.2 px: greatest rise of light in bins of one pixel, three sectors
  // together.
  bool find_coarse() {
    const int half = static_cast<int>(band_.reach_px), bins = 2 * half + 1;
    std::vector<double> sum(static_cast<std::size_t>(count_) * bins, 0), weight(sum.size(), 0);
    for (int k = 0; k < count_; ++k)
      for (int i = sector(k).begin; i < sector(k).end; ++i) {
        const int b = std::clamp(static_cast<int>(std::lround(band_.pixels[i].s_px)) + half, 0, bins - 1);
        sum[static_cast<std::size_t>(k) * bins + b] += band_.pixels[i].light;
        weight[static_cast<std::size_t>(k) * bins + b] += 1;
      }
    states_.assign(static_cast<std::size_t>(count_), {});
    coarse_.assign(static_cast<std::size_t>(count_), std::nan(""));
    std::vector<double> rises(static_cast<std::size_t>(count_), 0), level(static_cast<std::size_t>(bins));
    for (int k = 0; k < count_; ++k) {
      double last = 0;
      bool any = false;
      for (int b = 0; b < bins; ++b) {
        double s = 0, w = 0;
        for (int n = -1; n <= 1; ++n) {
          const std::size_t at = static_cast<std::size_t>(around(k + n)) * bins + b;
          s += sum[at], w += weight[at];
        }
        if (w > 0) last = s / w, any = true;
        level[b] = last;
      }
      if (!any) continue;
      // Mean of three beyond minus mean of three before, signed so that the wanted edge rises.
      double best = 0;
      int at = -1;
      const auto rise = [&](int b) {
        return sign_ *
               ((level[b + 1] + level[b + 2] + level[b + 3]) - (level[b - 1] + level[b - 2] + level[b - 3])) /
               3;
      };
      for (int b = 3; b + 3 < bins; ++b) {
        const double near = 1 - 0.4 * std::abs(b - half) / half;  // of two like edges the nearer one
        if (rise(b) * near > best) best = rise(b) * near, at = b;
      }
      if (at < 0) continue;
      double shift = 0;
      if (at > 3 && at + 4 < bins) {
        const double l = rise(at - 1), m = rise(at), r = rise(at + 1), bend = l - 2 * m + r;
        if (bend < 0) shift = std::clamp(0.5 * (l - r) / bend, -0.7, 0.7);
      }
      coarse_[k] = at - half + shift;
      rises[k] = rise(at);
    }
    const double typical = median(rises);
    if (typical < 2 * band_.quantum_light) return false;
    for (int k = 0; k < count_; ++k)
      if (rises[k] < 0.35 * typical) coarse_[k] = std::nan(""), states_[k].alive = false;
    return true;
  }

  // Windows follow a smooth outline (three undulations and less) but for nibs and chips, which keep their own
  // place.
  void predict() {
    constexpr int kTerms = 7;
    Eigen::Matrix<double, kTerms, 1> p = Eigen::Matrix<double, kTerms, 1>::Zero();
    const auto basis = [&](int k) {
      Eigen::Matrix<double, kTerms, 1> b;
      b[0] = 1;
      for (int n = 1; n <= 3; ++n)
        b[2 * n - 1] = std::cos(2 * kPi * n * k / count_), b[2 * n] = std::sin(2 * kPi * n * k / count_);
      return b;
    };
    double scale = 3;
    for (int round = 0; round < 8; ++round) {
      Eigen::Matrix<double, kTerms, kTerms> n = Eigen::Matrix<double, kTerms, kTerms>::Identity() * 1e-3;
      Eigen::Matrix<double, kTerms, 1> r = Eigen::Matrix<double, kTerms, 1>::Zero();
      std::vector<double> misses;
      for (int k = 0; k < count_; ++k) {
        if (std::isnan(coarse_[k])) continue;
        const auto b = basis(k);
        const double miss = coarse_[k] - b.dot(p), u = miss / scale, w = 1 / ((1 + u * u) * (1 + u * u));
        n += w * b * b.transpose();
        r += w * miss * b;
        misses.push_back(std::abs(miss));
      }
      p += n.ldlt().solve(r);
      scale = std::max(0.3, 2 * median(misses));
    }
    for (int k = 0; k < count_; ++k) {
      State& state = states_[k];
      if (!state.alive) continue;
      const double smooth = basis(k).dot(p);
      if (std::abs(coarse_[k] - smooth) < 1.2) {
        state.center_px = smooth;
      } else {
        std::vector<double> near;
        for (int n = -2; n <= 2; ++n)
          if (!std::isnan(coarse_[around(k + n)])) near.push_back(coarse_[around(k + n)]);
        state.center_px = median(near);
      }
      state.d_px = state.center_px;
    }
  }

  // How far either side of the edge the levels stay what they are, from the median profile.
  void choose_window() {
    const int half = static_cast<int>(std::min(band_.reach_px, kWidestWindow_px + 4));
    std::vector<std::vector<double>> bins(static_cast<std::size_t>(4 * half + 1));
    for (int k = 0; k < count_; ++k) {
      if (!states_[k].alive) continue;
      for (int i = sector(k).begin; i < sector(k).end; ++i) {
        const int b =
            static_cast<int>(std::lround(2 * (band_.pixels[i].s_px - states_[k].center_px))) + 2 * half;
        if (b >= 0 && b <= 4 * half) bins[b].push_back(band_.pixels[i].light);
      }
    }
    std::vector<double> profile(bins.size(), std::nan(""));
    for (std::size_t b = 0; b < bins.size(); ++b)
      if (bins[b].size() >= 5) profile[b] = median(bins[b]);
    const auto level = [&](double from, double to) {
      std::vector<double> v;
      for (int b = 0; b < static_cast<int>(profile.size()); ++b) {
        const double s = 0.5 * (b - 2 * half);
        if (s >= from && s <= to && !std::isnan(profile[b])) v.push_back(profile[b]);
      }
      return v.empty() ? std::nan("") : median(v);
    };
    // Blur from the share of the rise within +-1 px, levels just beyond.
    double near_in = level(-5, -3), near_out = level(3, 5);
    if (std::isnan(near_in)) near_in = level(-half, -1);
    if (std::isnan(near_out)) near_out = level(1, half);
    contrast_ = sign_ * (near_out - near_in);
    double steepest = 0;
    for (int b = 2; b + 2 < static_cast<int>(profile.size()); ++b)
      if (std::abs(b - 2 * half) <= 4)
        steepest = std::max(steepest, sign_ * (profile[b + 1] - profile[b - 1]));
    blur_px_ = steepest > 0 ? std::clamp(contrast_ / (steepest * std::sqrt(2 * kPi)), 0.45, 6.0) : 1;
    const double start = 3 * blur_px_ + 1;
    const auto clear = [&](int side) {
      const double near = side > 0 ? level(start, start + 2) : level(-start - 2, -start);
      double reach = start;
      for (double s = start; s <= half; s += 0.5) {
        const double v = profile[static_cast<std::size_t>(2 * half + side * static_cast<int>(2 * s))];
        if (std::isnan(v) || std::isnan(near) || std::abs(v - near) > 0.12 * std::abs(contrast_)) break;
        reach = s;
      }
      return std::clamp(reach > start ? reach - 1 : start, std::min(3.0, band_.reach_px), kWidestWindow_px);
    };
    window_in_ = clear(-1);
    window_out_ = clear(1);
    const double mean_length = [&] {
      double sum = 0;
      for (const Sector& s : band_.sectors) sum += s.length_px;
      return sum / count_;
    }();
    stretch_ = std::clamp(static_cast<int>(0.5 * kLevelStretch_px / mean_length), 2, std::max(2, count_ / 6));
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

  template <class Use>
  void each_pixel(int k, Use use) const {
    const State& state = states_[k];
    for (int i = sector(k).begin; i < sector(k).end; ++i) {
      const BandPixel& pixel = band_.pixels[i];
      if (skip_clipped_ && pixel.clipped) continue;
      const double from_center = pixel.s_px - state.center_px;
      if (from_center < -window_in_ || from_center > window_out_) continue;
      const double t = sign_ * (pixel.s_px - state.d_px);  // towards the bright side
      use(t, static_cast<double>(pixel.light));
    }
  }

  double share(double t) const {  // of the bright level at distance t
    const double z = t / blur_px_;
    return z > 6 ? 1 : z < -6 ? 0 : big_phi(z);
  }
  double model(const State& s, double t, double bright_share) const {
    return (s.dark + s.dark_slope * t) * (1 - bright_share) + (s.bright + s.bright_slope * t) * bright_share;
  }
  double variance(double bright_share) const {
    return noise_dark_ * noise_dark_ +
           bright_share * (noise_bright_ * noise_bright_ - noise_dark_ * noise_dark_);
  }
  // Weight of a residual: falls beyond 3.5 standard deviations.
  static double robust(double u) {
    const double a = std::abs(u);
    return a < 3.5 ? 1 : 3.5 / a * std::exp(-(a - 3.5) / 3.5);
  }

  void fit() {
    noise_dark_ = noise_bright_ = std::max(0.02 * std::abs(contrast_), 0.3 * band_.quantum_light);
    for (int round = 0; round < kRounds; ++round) {
      fit_levels(round);
      if (round >= 1) measure_noise();
      if (round == 3) decide_slopes();
      fit_displacements(round);
      if (round >= 1) fit_blur();
    }
    fit_levels(kRounds);
    measure_noise();
    fit_displacements(kRounds);
  }

  // Levels of each sector from the stretch around it: weighted linear least squares.
  void fit_levels(int round) {
    const int terms = slopes_ ? 4 : 2;
    normals_.assign(static_cast<std::size_t>(count_), Eigen::Matrix4d::Zero());
    rights_.assign(static_cast<std::size_t>(count_), Eigen::Vector4d::Zero());
    for (int k = 0; k < count_; ++k) {
      if (!states_[k].alive) continue;
      each_pixel(k, [&](double t, double light) {
        const double b = share(t);
        double w = 1 / variance(b);
        if (round > 1) w *= robust((light - model(states_[k], t, b)) * std::sqrt(w));
        const Eigen::Vector4d row(1 - b, b, (1 - b) * t, b * t);
        normals_[k].noalias() += w * row * row.transpose();
        rights_[k] += w * light * row;
      });
    }
    const int half = stretch_;
    Eigen::Matrix4d n = Eigen::Matrix4d::Zero();
    Eigen::Vector4d r = Eigen::Vector4d::Zero();
    for (int k = -half; k < half; ++k) n += normals_[around(k)], r += rights_[around(k)];
    for (int k = 0; k < count_; ++k) {
      n += normals_[around(k + half)], r += rights_[around(k + half)];
      State& s = states_[k];
      Eigen::Vector4d x = Eigen::Vector4d::Zero();
      const Eigen::MatrixXd part = n.topLeftCorner(terms, terms);
      x.head(terms) = (part + 1e-9 * part.diagonal().maxCoeff() * Eigen::MatrixXd::Identity(terms, terms))
                          .ldlt()
                          .solve(r.head(terms));
      s.dark = x[0], s.bright = x[1], s.dark_slope = x[2], s.bright_slope = x[3];
      n -= normals_[around(k - half)], r -= rights_[around(k - half)];
    }
  }

  void measure_noise() {
    std::vector<double> dark, bright;
    for (int k = 0; k < count_; k += std::max(1, count_ / 500)) {
      if (!states_[k].alive) continue;
      each_pixel(k, [&](double t, double light) {
        if (std::abs(t) < 2.5 * blur_px_) return;
        (t < 0 ? dark : bright).push_back(std::abs(light - model(states_[k], t, t < 0 ? 0 : 1)));
      });
    }
    const double floor = 0.15 * band_.quantum_light;
    if (dark.size() > 20) noise_dark_ = std::max(1.4826 * median(dark), floor);
    if (bright.size() > 20) noise_bright_ = std::max(1.4826 * median(bright), floor);
  }

  // Light that runs up or down beside the edge (shadows, rounded rims) moves it: slopes are fitted when they
  // show.
  void decide_slopes() {
    std::vector<double> gains;
    Eigen::Matrix4d n = Eigen::Matrix4d::Zero();
    Eigen::Vector4d r = Eigen::Vector4d::Zero();
    for (int k = 0; k < count_; k += std::max(1, stretch_)) {
      n.setZero(), r.setZero();
      for (int j = -stretch_; j <= stretch_; ++j) n += normals_[around(k + j)], r += rights_[around(k + j)];
      if (n(0, 0) <= 0) continue;
      const Eigen::Vector2d two = n.topLeftCorner<2, 2>().ldlt().solve(r.head<2>());
      const Eigen::Vector4d four = n.ldlt().solve(r);
      gains.push_back(four.dot(r) - two.dot(r.head<2>()));
    }
    if (gains.empty()) return;
    const auto at = gains.begin() + static_cast<std::ptrdiff_t>(gains.size() * 8 / 10);
    std::nth_element(gains.begin(), at, gains.end());
    slopes_ = *at > 16;  // chi-squared of two: 1 in 3000 where light is even
  }

  void fit_displacements(int round) {
    for (int k = 0; k < count_; ++k) {
      State& s = states_[k];
      if (!s.alive) continue;
      const double rise = s.bright - s.dark;
      double grad = 0, info = 0, chi2 = 0, weight = 0;
      each_pixel(k, [&](double t, double light) {
        const double z = t / blur_px_;
        if (std::abs(z) > 6) return;
        const double b = big_phi(z), v = variance(b), r = light - model(s, t, b);
        const double w = (round > 2 ? robust(r / std::sqrt(v)) : 1) / v;
        const double slope = -sign_ * rise * phi(z) / blur_px_;  // d model / d displacement
        grad += w * r * slope;
        info += w * slope * slope;
        if (std::abs(z) < 3) chi2 += std::min(r * r / v, 50.0), weight += 1;
      });
      s.information = info;
      s.chi2 = chi2, s.weight = weight;
      if (!(info > 0)) {
        s.alive = false;
        continue;
      }
      s.d_px += std::clamp(grad / info, -0.5, 0.5);
    }
  }

  // One blur for the whole edge.
  void fit_blur() {
    double grad = 0, info = 0;
    for (int k = 0; k < count_; ++k) {
      const State& s = states_[k];
      if (!s.alive) continue;
      const double rise = s.bright - s.dark;
      each_pixel(k, [&](double t, double light) {
        const double z = t / blur_px_;
        if (std::abs(z) > 5) return;
        const double b = big_phi(z), v = variance(b), r = light - model(s, t, b),
                     w = robust(r / std::sqrt(v)) / v;
        const double slope = -rise * phi(z) * z / blur_px_;
        grad += w * r * slope;
        info += w * slope * slope;
      });
    }
    if (info > 0) blur_px_ = std::clamp(blur_px_ + std::clamp(grad / info, -0.3, 0.3), 0.3, 8.0);
  }

  // Clipped light hides the bright level. What is left of the profile, all sectors together, still tells it
  // with the blur: level, blur and shift from the bins of the mean profile that hold no clipped sample. Then
  // every sector again with these. Returns how far clipping had moved the edge outwards.
  double undo_clipping() {
    constexpr double kBin_px = 0.2;
    const int half = static_cast<int>(8 / kBin_px);
    std::vector<double> sum(static_cast<std::size_t>(2 * half + 1), 0), count(sum), plain(sum);
    for (int k = 0; k < count_; ++k) {
      if (!states_[k].alive || std::abs(states_[k].d_px - states_[k].center_px) > 1) continue;
      each_pixel(k, [&](double t, double light) {
        const double from_center = t + sign_ * (states_[k].d_px - states_[k].center_px);
        const int b = static_cast<int>(std::lround(from_center / kBin_px)) + half;
        if (b < 0 || b > 2 * half) return;
        sum[b] += light, count[b] += 1;
      });
    }
    skip_clipped_ = true;
    for (int k = 0; k < count_; ++k) {
      if (!states_[k].alive || std::abs(states_[k].d_px - states_[k].center_px) > 1) continue;
      each_pixel(k, [&](double t, double) {
        const int b =
            static_cast<int>(std::lround((t + sign_ * (states_[k].d_px - states_[k].center_px)) / kBin_px)) +
            half;
        if (b >= 0 && b <= 2 * half) plain[b] += 1;
      });
    }
    std::vector<State*> shown;
    for (State& s : states_)
      if (s.alive && std::abs(s.d_px - s.center_px) < 1) shown.push_back(&s);
    std::vector<double> before;
    for (const State* s : shown) before.push_back(sign_ * (s->d_px - s->center_px));
    const double d0 = median(before);
    // Gauss-Newton with damping for dark, bright, displacement and log blur.
    Eigen::Vector4d p(median_dark(), median_bright() * 1.2, d0, std::log(blur_px_));
    const auto cost_of = [&](const Eigen::Vector4d& q, Eigen::Matrix4d* n, Eigen::Vector4d* r) {
      double cost = 0;
      for (int b = 0; b <= 2 * half; ++b) {
        if (count[b] < 3 || plain[b] < 0.98 * count[b]) continue;
        const double t = (b - half) * kBin_px, blur = std::exp(q[3]), z = (t - q[2]) / blur,
                     share = big_phi(z);
        const double miss = sum[b] / count[b] - (q[0] + (q[1] - q[0]) * share),
                     w = count[b] / variance(std::min(share, 1.0));
        cost += w * miss * miss;
        if (!n) continue;
        const double slope = (q[1] - q[0]) * phi(z);
        const Eigen::Vector4d g(1 - share, share, -slope / blur, -slope * z);
        *n += w * g * g.transpose();
        *r += w * miss * g;
      }
      return cost;
    };
    double damping = 1e-3, cost = cost_of(p, nullptr, nullptr);
    for (int round = 0; round < 100 && damping < 1e8; ++round) {
      Eigen::Matrix4d n = Eigen::Matrix4d::Zero();
      Eigen::Vector4d r = Eigen::Vector4d::Zero();
      cost_of(p, &n, &r);
      n.diagonal() *= 1 + damping;
      const Eigen::Vector4d trial = p + n.ldlt().solve(r);
      const bool sane =
          trial.allFinite() && trial[3] > -1.2 && trial[3] < 2.1 && std::abs(trial[2]) < 10 && trial[1] < 20;
      const double now = sane ? cost_of(trial, nullptr, nullptr) : cost + 1;
      if (now <= cost) {
        const bool settled = cost - now < 1e-7 * cost;
        p = trial, cost = now, damping = std::max(damping * 0.2, 1e-9);
        if (settled) break;
      } else {
        damping *= 6;
      }
    }
    blur_px_ = std::exp(p[3]);
    for (State& s : states_) {
      s.dark = p[0], s.bright = p[1], s.dark_slope = s.bright_slope = 0;
      s.d_px += sign_ * (p[2] - d0);
    }
    slopes_ = false;
    for (int round = 0; round < 4; ++round) fit_displacements(kRounds);
    return sign_ * (d0 - p[2]);
  }

  double median_dark() const {
    std::vector<double> v;
    for (const State& s : states_)
      if (s.alive) v.push_back(s.dark);
    return median(v);
  }
  double median_bright() const {
    std::vector<double> v;
    for (const State& s : states_)
      if (s.alive) v.push_back(s.bright);
    return median(v);
  }

  // Share of the information on a common displacement that free levels leave, from the stretch around sector
  // k.
  double information_left(int k) const {
    Eigen::Vector4d cross = Eigen::Vector4d::Zero();
    Eigen::Matrix4d levels = Eigen::Matrix4d::Zero();
    double info = 0;
    const int terms = slopes_ ? 4 : 2;
    for (int j = -stretch_; j <= stretch_; ++j) {
      const State& s = states_[around(k + j)];
      if (!s.alive) continue;
      const double rise = s.bright - s.dark;
      each_pixel(around(k + j), [&](double t, double) {
        const double b = share(t), w = 1 / variance(b), slope = -sign_ * rise * phi(t / blur_px_) / blur_px_;
        const Eigen::Vector4d row(1 - b, b, (1 - b) * t, b * t);
        levels.noalias() += w * row * row.transpose();
        cross += w * slope * row;
        info += w * slope * slope;
      });
    }
    if (!(info > 0)) return 1;
    const Eigen::MatrixXd l = levels.topLeftCorner(terms, terms);
    const Eigen::VectorXd c = cross.head(terms);
    return std::clamp(1 - c.dot(l.ldlt().solve(c)) / info, 0.05, 1.0);
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
  std::vector<double> coarse_;
  std::vector<Eigen::Matrix4d> normals_;
  std::vector<Eigen::Vector4d> rights_;
  double blur_px_ = 1, contrast_ = 0, noise_dark_ = 0.01, noise_bright_ = 0.01;
  double window_in_ = 8, window_out_ = 8;
  int stretch_ = 10;
  bool slopes_ = false, skip_clipped_ = false;
};

}  // namespace

PlacedEdge place_edge(const EdgeBand& band, bool dark_inside) { return Placing(band, dark_inside).run(); }

}  // namespace rondure
