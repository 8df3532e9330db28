#include "photo/solid/outline_edges.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "photo/edge/normal_table.hpp"
#include "photo/solid/edge_in_shade.hpp"
#include "photo/solid/light_at.hpp"
#include "photo/solid/shade_beside.hpp"
#include "rondure/core/geometry.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement, set looking at seeds 3, 4, 5, 8 and 9 of tests/bench/solid_scenes (48
// scenes from 0.056 to 0.035 mm rms with the shade, 61 from 0.0305 to 0.0253 with the sectors' means); checked on
// seeds 14, 16, 33 and 34, new when first looked at (tests/data/studies/solid_scenes.txt).
// Samples of a profile; a length outwards that tells its direction and scale in the picture, far above rounding.
constexpr double kStep_px = kProfileStep_px, kProbe_mm = 0.05;
// How far a profile is fitted, from its steepest place: inwards all but 1.4 % of the edge's rise lies within,
// outwards so much more that the slope of the ground is told too.
constexpr double kWithin_blurs = 2.2, kBeyond_blurs = 4;
constexpr double kSlope_ratio = 0.1;   // of the rise in one blur: prior of the ground's slope
constexpr double kNoise_ratio = 0.03;  // of the rise
// An edge placed farther than so off where its ray met it is another one, and left out; by judgement.
constexpr double kMostShift_px = 2;
// A narrow strip along the inside (chamfer, shaded wall), dark or lit, is filled up by the blur: up to so wide its other
// edge is placed with this one. Its width is so much uncertain beforehand.
constexpr double kWidestStrip_blurs = 4, kStrip_blurs = 1.2, kStripSpread_blurs = 1;
// A narrower strip and its light cannot be told apart: the width stops here.
constexpr double kLeastStrip_blurs = 0.3;
constexpr double kStripSlope_ratio = 0.15;  // of the edge's steepest slope: a strip's other edge is so steep

constexpr double kFootStands_mm = 0.2;  // lower parts hide no sky
// The ground's shade is read from beyond the edge's own blur (2.5 of it: 0.6 % of the rise left) to so many heights
// of the part: by there 94 % or more of it is over (shade_beside.hpp). The cap is for time; a shorter stretch tells
// no slope.
constexpr double kShadeFrom_blurs = 2.5, kShadeTo_heights = 2.5, kMostShade_px = 40, kLeastShade_px = 4;
constexpr double kShadeEnds_ratio = 0.25;  // of the edge's steepest slope: another edge, not the shade
// Share of the ground's light, lost at the foot: a black wall takes half of an even sky's; more is one-sided light.
constexpr double kMostShade = 0.8;
// Profiles with a share of their own, near by: their median is no one profile's; with fewer none is taken.
// By judgement.
constexpr std::size_t kLeastShares = 8;
constexpr double kLostPrior = 0.5,
                 kShadeNoise = 0.1;     // share of the light lost; a stretch's, in the ground's own light
constexpr double kShadeNear_rad = 0.3;  // the shade is much the same so far either side

// All edges together, by the mean profiles of so many sectors: only inwards, where it clearly is (14-004, a grey part 2.9 mm
// high on paper in a tent: 0.10 mm too large at 2.8 u without).
constexpr int kOffSectors = 24;
// 15 degrees a sector: the light is much the same over it. So many edges a sector and so many sectors, or nothing
// is moved.
constexpr std::size_t kLeastOfSector = 5, kLeastOffs = 8;
constexpr double kShortest_share = 0.25;  // of a sector's profiles: so many may end before its mean does
constexpr double kOffNoise_px = 0.1;      // smaller ones are left

struct Profile {
  std::vector<double> light;
  double start_px = 0;
  double px_per_mm = 1;
  double foot_mm = 0,
         outwards = 1;  // from the wall's foot to the profile's zero; cosine of the profile to the radius
  double at_px(int i) const { return start_px + kStep_px * i; }
};

// Steps outwards and inwards from the strongest slope near the outline, as far as no other edge begins.
struct ProfileWindow {
  int from = 0, to = 0, peak = 0;
  std::optional<int> inner_edge;  // of a narrow strip along the inside; the window begins beyond it
};

// The other edge of a strip that is too narrow to show its own light, with as much of what lies within as belongs to it.
void take_in_strip(const std::vector<double>& slope, double blur_px, ProfileWindow& w) {
  const int widest = static_cast<int>(kWidestStrip_blurs * blur_px / kStep_px),
            beyond = static_cast<int>(std::ceil(kWithin_blurs * blur_px / kStep_px));
  int inner = w.from;
  for (int i = w.from; i > std::max(1, w.peak - widest); --i)
    if (slope[i] < slope[inner]) inner = i;
  if (slope[inner] > -kStripSlope_ratio * slope[w.peak] || w.peak - inner < 2) return;
  int from = inner;
  while (from > 1 && inner - from < beyond && slope[from - 1] < 0.04 * slope[w.peak] &&
         slope[from - 1] > slope[from] + 0.04 * slope[inner])
    --from;
  if (inner - from < 2) return;
  w.inner_edge = inner, w.from = from;
}

std::optional<ProfileWindow> window_of_profile(const Profile& p, bool dark_inside, double blur_px) {
  const int count = static_cast<int>(p.light.size());
  std::vector<double> slope(p.light.size(), 0);
  for (int i = 1; i + 1 < count; ++i)
    slope[i] = (dark_inside ? 0.5 : -0.5) * (p.light[i + 1] - p.light[i - 1]);
  const int middle = static_cast<int>(std::lround(-p.start_px / kStep_px));
  ProfileWindow w{0, 0, middle, {}};
  for (int i = middle - 3; i <= middle + 3; ++i)
    if (slope[i] > slope[w.peak]) w.peak = i;
  const double peak = slope[w.peak];
  if (!(peak > 0)) return {};
  const auto walk = [&](int side, int most) {
    int k = w.peak;
    while (std::abs(k - w.peak) < most && k + side > 0 && k + side + 1 < count) {
      const double next = slope[k + side];
      if (next > slope[k] + 0.04 * peak || next < -0.15 * peak) break;
      k += side;
    }
    return k;
  };
  w.from = walk(-1, static_cast<int>(std::ceil((kWithin_blurs * blur_px + 0.5) / kStep_px)));
  w.to = walk(1, static_cast<int>(std::ceil((kBeyond_blurs * blur_px + 1) / kStep_px))) + 1;
  if (w.to - w.from < 6) return {};
  take_in_strip(slope, blur_px, w);
  return w;
}

// Unknowns of a profile: light of what lies within, of the strip, rise to the ground beside it, the ground's slope besides
// the shade, place, width.
enum { kWithin, kStrip, kRise, kSlope, kPlace, kWidth, kOfProfile };
using ProfileRow = Eigen::Matrix<double, kOfProfile, 1>;
using ProfileSquare = Eigen::Matrix<double, kOfProfile, kOfProfile>;

// The ground's light, as a ratio to that beside the edge, and how it rises.
struct Ground {
  double ratio = 1, slope_px = 0;
};

// Light at `t` px outwards of the edge, and its derivatives.
double modelled(const ProfileRow& x, double t, double blur_px, const Ground& ground, ProfileRow& row) {
  const NormalTable& normal = normal_table();
  const double z = std::clamp(t / blur_px, -6.0, 6.0),
               inner_z = std::clamp((t + x[kWidth]) / blur_px, -6.0, 6.0);
  const double step = normal.cdf(z), bell = normal.density(z), ramp = t * step + blur_px * bell;
  const double outer = ground.ratio * step + ground.slope_px * blur_px * bell,
               outer_by_place = -ground.ratio * bell / blur_px + ground.slope_px * z * bell;
  const double inner = normal.cdf(inner_z), fall = x[kStrip] - x[kWithin],
               inner_slope = fall * normal.density(inner_z) / blur_px, beside = x[kStrip] + x[kRise];
  row << 1 - inner, inner - step + outer, outer, ramp,
      -inner_slope + x[kStrip] * bell / blur_px + beside * outer_by_place - x[kSlope] * step, inner_slope;
  return x[kWithin] + fall * inner - x[kStrip] * step + beside * outer + x[kSlope] * ramp;
}

// The shade beside a standing part as one profile meets it.
class ShadeAcross {
public:
  // `share`: of the ground's light, lost at the part's foot; 0: even ground.
  ShadeAcross(const ShadeBeside* shade, const Profile& p, double share, double edge_px)
      : shade_(shade), p_(p), share_(share), beside_(1 - share * lost(edge_px)) {}
  double lost(double t_px) const { return shade_ ? shade_->at(from_foot_mm(t_px)) : 0; }
  Ground at(double t_px) const {
    if (!shade_ || share_ <= 0) return {};
    return {(1 - share_ * lost(t_px)) / beside_,
            -share_ * shade_->slope_at(from_foot_mm(t_px)) / p_.px_per_mm / beside_};
  }

private:
  double from_foot_mm(double t_px) const { return p_.foot_mm + p_.outwards * t_px / p_.px_per_mm; }
  const ShadeBeside* shade_;
  const Profile& p_;
  double share_, beside_;
};

// Where the edge lies, px from the profile's zero.
std::optional<double> place(const Profile& p, const ProfileWindow& w, double blur_px,
                            const ShadeAcross& shade) {
  ProfileRow x;
  const int darkest = w.inner_edge ? (*w.inner_edge + w.peak) / 2 : w.from;
  const double rise = p.light[w.to - 1] - p.light[darkest];
  x << (w.inner_edge ? p.light[w.from] : p.light[darkest]), p.light[darkest], rise, 0, p.at_px(w.peak),
      w.inner_edge ? kStrip_blurs * blur_px : 0;
  if (std::abs(rise) < 1e-4) return {};
  const auto held_by = [&](double spread) { return std::pow(kNoise_ratio * rise / spread, 2); };
  for (int round = 0; round < 12; ++round) {
    ProfileSquare n = ProfileSquare::Zero();
    ProfileRow r = ProfileRow::Zero(), row;
    for (int i = w.from; i < w.to; ++i) {
      const double miss =
          p.light[i] - modelled(x, p.at_px(i) - x[kPlace], blur_px, shade.at(p.at_px(i)), row);
      if (!w.inner_edge) row[kStrip] += row[kWithin], row[kWithin] = row[kWidth] = 0;  // one level inside
      n.noalias() += row * row.transpose();
      r += row * miss;
    }
    const double slope_held = held_by(kSlope_ratio * rise / blur_px),
                 width_held = held_by(kStripSpread_blurs * blur_px);
    n(kSlope, kSlope) += slope_held, r(kSlope) -= slope_held * x[kSlope];
    if (w.inner_edge) {
      n(kWidth, kWidth) += width_held, r(kWidth) += width_held * (kStrip_blurs * blur_px - x[kWidth]);
    } else {
      n(kWithin, kWithin) = n(kWidth, kWidth) = 1;
    }
    n.diagonal().array() += 1e-10 * n.diagonal().maxCoeff();
    const ProfileRow by = n.ldlt().solve(r);
    if (!by.allFinite()) return {};
    const double moved = std::clamp(by[kPlace], -blur_px, blur_px);
    x += by;
    x[kPlace] += moved - by[kPlace];
    x[kWidth] = w.inner_edge ? std::max(x[kWidth], kLeastStrip_blurs * blur_px) : 0;
    if (!w.inner_edge) x[kWithin] = x[kStrip];
    if (std::abs(by[kPlace]) < 1e-4) break;
  }
  return x[kPlace];
}

// One chosen edge read across the outline.
struct Across {
  const ChosenEdge* chosen = nullptr;
  Eigen::Vector2d at, normal, zero, forward;  // plane, mm; picture, px
  Profile profile;
  ProfileWindow window;
  double direction_rad = 0;
  std::optional<double> share;  // of the ground's light, lost at the foot
};

class PlacingAcross {
public:
  PlacingAcross(const Picture& picture, const MeasuringPlane& board, const std::vector<float>& light_table,
                const CameraPlace& camera, const WallFit& fit, const RayEdges& rays)
      : board_(board), light_(picture, light_table), fit_(fit), rays_(rays), outline_(camera, fit.wall) {
    const RoundWall& wall = fit.wall;
    if (wall.top_mm > kFootStands_mm && wall.radius_mm > 0) laws_.emplace(wall.radius_mm, wall.top_mm);
  }

  PlacedAcross run() {
    PlacedAcross out{rays_, 0};
    for (auto& ray : out.rays.rays) ray.clear();
    if (fit_.chosen.empty()) return out;
    blur_px_ = blur_of_outline();
    read();
    if (laws_)
      for (Across& a : all_) a.share = shade_share(a);
    std::vector<Placed> placed;
    for (const Across& a : all_) {
      const ShadeAcross shade(laws_ ? &laws_->even : nullptr, a.profile, share_near(a),
                              a.profile.at_px(a.window.peak));
      const auto shift_px = place(a.profile, a.window, blur_px_, shade);
      if (shift_px && std::abs(*shift_px - a.chosen->miss_px) <= kMostShift_px)
        placed.push_back({&a, *shift_px});
    }
    const double common_px = common_off(placed, out.u_px);
    for (const auto& [a, own_px] : placed) {
      const double shift_px = own_px + common_px;
      RayEdge edge = *a->chosen->edge;
      edge.at = a->at + shift_px / a->profile.px_per_mm * a->normal;
      edge.pixel = a->zero + shift_px * a->forward;
      out.rays.rays[static_cast<std::size_t>(a->chosen->ray)].push_back(edge);
    }
    return out;
  }

private:
  struct Placed {
    const Across* across;
    double shift_px;
  };

  // How far all edges lie inwards of where they are placed one by one: the light beside a single one is too noisy to tell a
  // strip or a fall of light narrower than the blur. Its standard uncertainty where it counts.
  double common_off(const std::vector<Placed>& placed, double& u_px) const {
    if (!laws_) return 0;
    std::array<std::vector<Placed>, kOffSectors> sectors;
    for (const Placed& p : placed) {
      const double turn = std::fmod(p.across->direction_rad / (2 * kPi) + 1, 1.0);
      sectors[static_cast<std::size_t>(std::lround(turn * kOffSectors)) % kOffSectors].push_back(p);
    }
    std::vector<double> offs;
    double sum2 = 0;
    for (auto& sector : sectors) {
      if (sector.size() < kLeastOfSector) continue;
      double at_px = 0;
      const MeanProfile mean = mean_of(std::move(sector), at_px);
      const auto place = edge_in_shade(mean, blur_px_, &*laws_);
      if (!place) continue;
      offs.push_back(mean.dark_inside ? place->at_px - at_px : 0);
      sum2 += place->u_px * place->u_px;
    }
    if (offs.size() < kLeastOffs) return 0;
    const double count = static_cast<double>(offs.size()), off_px = median(offs);
    if (off_px >= 0) return 0;
    for (double& o : offs) o = std::abs(o - off_px);
    const double noise_px = std::hypot(kOffNoise_px, 2 * 1.25 * 1.4826 * median(offs) / std::sqrt(count)),
                 clear = off_px * off_px / (off_px * off_px + noise_px * noise_px);
    u_px = clear * std::sqrt(sum2 / count);
    return clear * off_px;
  }

  // `at_px`: where its edges are placed one by one, in the mean.
  MeanProfile mean_of(std::vector<Placed> sector, double& at_px) const {
    std::vector<std::size_t> lengths;
    for (const Placed& p : sector) lengths.push_back(p.across->profile.light.size());
    std::sort(lengths.begin(), lengths.end());
    const std::size_t length =
        lengths[static_cast<std::size_t>(kShortest_share * static_cast<double>(lengths.size()))];
    std::erase_if(sector, [&](const Placed& p) { return p.across->profile.light.size() < length; });
    const double share = 1 / static_cast<double>(sector.size());
    MeanProfile mean;
    mean.light.assign(length, 0), mean.start_px = sector.front().across->profile.start_px;
    mean.px_per_mm = mean.outwards = at_px = 0;
    std::size_t dark = 0;
    for (const Placed& p : sector) {
      const Profile& own = p.across->profile;
      for (std::size_t i = 0; i < length; ++i) mean.light[i] += share * own.light[i];
      mean.px_per_mm += share * own.px_per_mm, mean.foot_mm += share * own.foot_mm;
      mean.outwards += share * own.outwards, at_px += share * p.shift_px;
      dark += p.across->chosen->edge->dark_inside;
    }
    for (std::size_t i = 0; i < length; ++i) {
      double sum2 = 0;
      for (const Placed& p : sector) sum2 += std::pow(p.across->profile.light[i] - mean.light[i], 2);
      mean.u_light.push_back(share * std::sqrt(sum2));
    }
    mean.dark_inside = 2 * dark > sector.size();
    return mean;
  }

  double blur_of_outline() const {
    std::vector<double> blurs;
    for (const ChosenEdge& c : fit_.chosen) blurs.push_back(c.edge->blur_px);
    std::sort(blurs.begin(), blurs.end());
    return std::clamp(blurs[blurs.size() / 4], 0.8 * rays_.camera_blur_px, 1.05 * rays_.camera_blur_px);
  }

  double shade_reach_px() const {
    return laws_ ? std::min(kMostShade_px, kShadeTo_heights * fit_.wall.top_mm * rays_.px_per_mm) : 0;
  }

  void read() {
    const double start_px =
        -kStep_px * std::ceil(((kWithin_blurs + kWidestStrip_blurs + 1) * blur_px_ + 3) / kStep_px);
    const auto samples = [&](double to_px) {
      return static_cast<int>(std::ceil((to_px - start_px) / kStep_px));
    };
    const int least = samples((kBeyond_blurs + 1) * blur_px_ + 4),
              most = std::max(least, samples(kShadeFrom_blurs * blur_px_ + shade_reach_px()));
    for (const ChosenEdge& c : fit_.chosen) {
      const OutlineDistance near = outline_.nearest(c.edge->at);
      Across a;
      a.chosen = &c, a.normal = near.normal, a.at = c.edge->at - near.distance_mm * near.normal;
      const auto zero = pixel_from_part(board_, PartPoint::from(a.at));
      const auto probe = pixel_from_part(board_, PartPoint::from(a.at + kProbe_mm * near.normal));
      if (!zero || !probe) continue;
      const Eigen::Vector2d forward(probe->x_px - zero->x_px, probe->y_px - zero->y_px);
      a.zero = {zero->x_px, zero->y_px}, a.forward = forward.normalized();
      a.direction_rad = std::atan2(near.normal.y(), near.normal.x());
      const Eigen::Vector2d from_axis = a.at - fit_.wall.center;
      a.profile.start_px = start_px, a.profile.px_per_mm = forward.norm() / kProbe_mm;
      a.profile.foot_mm = from_axis.norm() - fit_.wall.radius_mm;
      a.profile.outwards = near.normal.dot(from_axis.normalized());
      if (!read_light(a, least, most)) continue;
      const auto window = window_of_profile(a.profile, c.edge->dark_inside, blur_px_);
      if (!window) continue;
      a.window = *window;
      all_.push_back(std::move(a));
    }
  }

  // Mean of five neighbours; false when the picture ends within the first `least` samples.
  bool read_light(Across& a, int least, int most) const {
    const Eigen::Vector2d aside(-a.forward.y(), a.forward.x());
    for (int i = 0; i < most; ++i) {
      double sum = 0;
      for (int k = -2; k <= 2; ++k) {
        const Eigen::Vector2d q = a.zero + a.profile.at_px(i) * a.forward + k * aside;
        if (!light_.holds(q.x(), q.y())) return i >= least;
        sum += light_.at(q.x(), q.y());
      }
      a.profile.light.push_back(sum / 5);
    }
    return true;
  }

  // From the ground beyond the edge's own blur, up to the next edge.
  std::optional<double> shade_share(const Across& a) const {
    const Profile& p = a.profile;
    const int count = static_cast<int>(p.light.size());
    const double peak = std::abs(p.light[a.window.peak + 1] - p.light[a.window.peak - 1]);
    const int from = a.window.peak + static_cast<int>(std::ceil(kShadeFrom_blurs * blur_px_ / kStep_px));
    int to = from;
    while (to + 1 < count && std::abs(p.light[to + 1] - p.light[to - 1]) < kShadeEnds_ratio * peak) ++to;
    if ((to - from) * kStep_px < kLeastShade_px) return {};
    double mean = 0;
    for (int i = from; i < to; ++i) mean += p.light[i] / (to - from);
    if (!(mean > 0)) return {};
    const ShadeAcross shade(&laws_->even, p, 0, 0);
    // light = far - lost V, in units of the mean; lost within its prior.
    Eigen::Matrix2d n = Eigen::Matrix2d::Zero();
    Eigen::Vector2d r = Eigen::Vector2d::Zero();
    for (int i = from; i < to; ++i) {
      const Eigen::Vector2d row(1, -shade.lost(p.at_px(i)));
      n.noalias() += row * row.transpose(), r += row * p.light[i] / mean;
    }
    n *= kStep_px / blur_px_, r *= kStep_px / blur_px_;
    n(1, 1) += std::pow(kShadeNoise / kLostPrior, 2);
    const Eigen::Vector2d x = n.ldlt().solve(r);
    if (!(x[0] > 0)) return {};
    return std::clamp(x[1] / x[0], 0.0, kMostShade);
  }

  // Median of the neighbours', so that the ground's own texture counts little.
  double share_near(const Across& a) const {
    if (!laws_) return 0;
    std::vector<double> shares;
    for (const Across& b : all_)
      if (b.share && std::abs(std::remainder(b.direction_rad - a.direction_rad, 2 * kPi)) < kShadeNear_rad)
        shares.push_back(*b.share);
    return shares.size() < kLeastShares ? 0 : median(std::move(shares));
  }

  const MeasuringPlane& board_;
  const LightAt light_;
  const WallFit& fit_;
  const RayEdges& rays_;
  const SeenOutline outline_;
  std::optional<ShadeLaws> laws_;
  double blur_px_ = 1;
  std::vector<Across> all_;
};

}  // namespace

PlacedAcross place_across(const Picture& picture, const MeasuringPlane& board,
                          const std::vector<float>& light_table, const CameraPlace& camera,
                          const WallFit& fit, const RayEdges& rays) {
  return PlacingAcross(picture, board, light_table, camera, fit, rays).run();
}

}  // namespace rondure
