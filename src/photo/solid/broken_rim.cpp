#include "photo/solid/broken_rim.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

#include "photo/edge/normal_table.hpp"
#include "rondure/core/geometry.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement, set looking at seeds 3, 4, 5, 8 and 9 of tests/bench/solid_scenes and
// at 16-003 (rms of 44 bores 84 um before, 78 after); checked on seeds 14 and 33 and by test_broken_rim.cpp.
// 15 degrees each: a break is much alike over so much, and each has enough pixels for its mean.
constexpr int kRimSectors = 24;
// How far the profile runs on the face, by its own pixels and the blur, and past the widest break: three blurs hold
// all but 0.1 % of an edge's rise.
constexpr double kWithinFace_px = 2, kWithinFace_blurs = 3, kBeyondBreak_blurs = 3;
// Of the rim's radius, of a break that is looked for; by judgement.
constexpr double kWidestOfRadius = 0.3;
constexpr double kSideOn = 0.35;  // cosine to the camera's direction: nearer to square on a wall may show
constexpr double kWallShows_px = 0.4;  // less of a wall counts as none
// Steps of the width and of the place, below the blur of the scenes (0.6 to 1.6 px); the place is sought so far
// either way.
constexpr double kWidthStep_px = 0.25, kRimPlaceStep_px = 0.2, kRimPlaceReach_px = 1.5;
constexpr double kUnbroken = 0.5, kUsualWidth_mm = 0.2,
                 kShadesFrom_mm = 0.2;  // probability beforehand; of a break's width, the mean
// Of the break's light against the face's, as a ratio; of the light beyond, its fall in a pixel.
constexpr double kBreakLight = 0.75, kBreakSpread = 0.35, kSlope_px = 0.04;
constexpr double kFootShade = 0.4;  // share of the light beyond, lost at the wall's foot: standard deviation
// Standard deviation of a sample, of the profile's range; more from so many blurs off the edge on, by so much a blur
// on the face.
constexpr double kRimNoise = 0.01, kUnevenFrom = 2.5, kUnevenRimFace = 0.02;
constexpr double kSharedBySectors = 3;  // sectors miss the model alike: so many count as one
// That tell the width, of 24: with fewer a shadow along part of the rim would decide.
constexpr std::size_t kLeastSectors = 4;
// Light, of the full scale: a sector with no more between darkest and brightest shows no rim.
constexpr double kLeastRise = 0.004;
// A length that tells a profile's direction and scale; a sector's place is known no better than so many px.
constexpr double kRimProbe_mm = 0.05, kLeastOfSector_px = 0.1;
// In a sector: one a pixel of its arc, within these; the most is for time.
constexpr int kLeastProfiles = 3, kMostProfiles = 24;
constexpr double kTellsFromNone = 1.5, kTellsFromOther = 3;  // of the logarithm of a sector's likelihood
// As kLeastBreak_mm of ring_roles.hpp; of the widest that is weighed, a break as wide is another edge, and
// not answered.
constexpr double kNarrowestBreak_mm = 0.08, kNearWidest = 0.9;
constexpr double kBeyond_px = 0.25;  // standard uncertainty where the break is told

enum { kFaceLevel, kBreakLevel, kBeyondLevel, kBeyondSlope, kBeyondShade, kRimLevels };
using LevelRow = Eigen::Matrix<double, kRimLevels, 1>;
using LevelSquare = Eigen::Matrix<double, kRimLevels, kRimLevels>;

// Of one sector: for each width the logarithm of its likelihood and the place of the face's end.
struct SectorWeighed {
  std::vector<double> log_likelihood, place_px, place2_px2;
  double beyond_to_face = 0;  // of the light
  bool tells_width = true;
};

class WeighSector {
public:
  WeighSector(const RimSector& s, double blur_px, const std::vector<double>& widths_px,
              const ShadeBeside* shade)
      : s_(s), blur_px_(blur_px), widths_(widths_px), shade_(shade) {}

  std::optional<SectorWeighed> run() {
    if (!prepare()) return {};
    std::vector<std::vector<Weighed>> all(widths_.size());
    for (std::size_t w = 0; w < widths_.size(); ++w)
      for (double a = -kRimPlaceReach_px - blur_px_ - (w ? 0.5 * widths_[w] : 0);
           a <= kRimPlaceReach_px + blur_px_; a += kRimPlaceStep_px)
        weigh(a, widths_[w], all[w]);
    const double scale = std::max(1.0, least_chi2_ / free_);
    SectorWeighed out;
    out.tells_width = s_.tells_width, out.beyond_to_face = beyond_to_face_;
    for (const auto& places : all) {
      double most = -std::numeric_limits<double>::infinity();
      for (const Weighed& p : places) most = std::max(most, -0.5 * p.chi2 / scale + p.log_root);
      double sum = 0, first = 0, second = 0;
      for (const Weighed& p : places) {
        const double weight = std::exp(-0.5 * p.chi2 / scale + p.log_root - most);
        sum += weight, first += weight * p.place, second += weight * p.place * p.place;
      }
      if (!(sum > 0)) return {};
      out.log_likelihood.push_back(most + std::log(sum));
      out.place_px.push_back(first / sum);
      out.place2_px2.push_back(std::max(0.0, second / sum - std::pow(first / sum, 2)));
    }
    return out;
  }

private:
  struct Weighed {
    double place, chi2, log_root;
  };
  double at_px(std::size_t i) const { return s_.start_px + kRimStep_px * static_cast<double>(i); }

  bool prepare() {
    std::vector<double> face, beyond;
    for (std::size_t i = 0; i < s_.light.size(); ++i)
      if (at_px(i) < -1.5 * blur_px_)
        face.push_back(s_.light[i]);
      else if (at_px(i) > 1.5 * blur_px_)
        beyond.push_back(s_.light[i]);
    if (face.size() < 4 || beyond.size() < 6) return false;
    const double face_light = std::max(1e-4, median(face)), beyond_light = median(beyond);
    beyond_to_face_ = beyond_light / face_light;
    double lowest = 1e9, highest = -1e9;
    for (const double l : s_.light) lowest = std::min(lowest, l), highest = std::max(highest, l);
    const double range = highest - lowest;
    if (range < kLeastRise) return false;
    expected_ << 0, kBreakLight * face_light, 0, 0, 0;
    const double loose = 1e-6 / std::max(face_light, 1e-6);
    prior_ << loose, 1 / (kBreakSpread * face_light), loose,
        1 / (kSlope_px * std::max(face_light, beyond_light)), 1 / (kFootShade * beyond_light + 1e-5);
    prior_ = prior_.cwiseAbs2();
    const double together = std::sqrt(std::max(1.0, 2 * blur_px_));
    for (std::size_t i = 0; i < s_.light.size(); ++i) {
      const double off = std::max(0.0, std::abs(at_px(i)) / blur_px_ - kUnevenFrom),
                   uneven = off * (at_px(i) < 0 ? kUnevenRimFace : 0);
      const double noise = together * std::hypot(range * std::hypot(kRimNoise, uneven),
                                                 s_.u_light.empty() ? 0 : s_.u_light[i]);
      information_.push_back(1 / (noise * noise));
    }
    free_ = std::max(4.0, static_cast<double>(s_.light.size()) / std::max(1.0, 2 * blur_px_) -
                              static_cast<double>(kRimLevels));
    return true;
  }

  void weigh(double place, double width, std::vector<Weighed>& out) {
    const NormalTable& normal = normal_table();
    LevelSquare n = prior_.asDiagonal();
    LevelRow r = prior_.cwiseProduct(expected_);
    double light2 = prior_.dot(expected_.cwiseAbs2());
    for (std::size_t i = 0; i < s_.light.size(); ++i) {
      const double t = at_px(i) - place, z = t / blur_px_, zw = (t - width) / blur_px_,
                   outer = normal.share(z), inner = width > 0 ? normal.share(zw) : outer;
      LevelRow row;
      row << 1 - outer, outer - inner, inner, (t - width) * inner + blur_px_ * normal.bell(zw),
          shade_ ? -shade_->at(s_.hidden_mm + std::max(0.0, t - width) / s_.px_per_mm) * inner : 0;
      n.noalias() += information_[i] * row * row.transpose();
      r += information_[i] * s_.light[i] * row;
      light2 += information_[i] * s_.light[i] * s_.light[i];
    }
    const Eigen::LLT<LevelSquare> cholesky(n);
    const LevelRow x = cholesky.solve(r);
    if (!x.allFinite()) return;
    const double chi2 = light2 - x.dot(r);
    least_chi2_ = std::min(least_chi2_, chi2 - prior_.dot((x - expected_).cwiseAbs2()));
    double log_root = 0;
    for (int k = 0; k < kRimLevels; ++k) log_root -= std::log(cholesky.matrixLLT()(k, k));
    out.push_back({place, chi2, log_root});
  }

  const RimSector& s_;
  const double blur_px_;
  const std::vector<double>& widths_;
  const ShadeBeside* shade_;
  LevelRow expected_, prior_;
  std::vector<double> information_;
  double beyond_to_face_ = 0, free_ = 1, least_chi2_ = std::numeric_limits<double>::infinity();
};

class RimSectors {
public:
  RimSectors(const LightAt& light, const MeasuringPlane& board, const CameraPlace& camera,
             const RimOnFace& rim, double blur_px)
      : light_(light),
        board_(board),
        rim_(rim),
        blur_px_(blur_px),
        scale_(camera.scale_at(rim.height_mm)),
        radius_mm_(scale_ * rim.radius_mm),
        center_(camera.seen_at(rim.center, rim.height_mm)) {
    off_ = rim.center - camera.foot;
    along_ = off_.norm() > 1e-9 ? Eigen::Vector2d(off_.normalized()) : Eigen::Vector2d(1, 0);
    per_mm_ = rim.depth_mm / camera.height_mm;
  }

  // Empty where the picture ends.
  std::vector<RimSector> read() const {
    std::vector<RimSector> all;
    for (int k = 0; k < kRimSectors; ++k) {
      auto sector = read(2 * kPi * k / kRimSectors);
      if (!sector) return {};
      all.push_back(std::move(*sector));
    }
    return all;
  }

private:
  // Of the wall, in the plane, where the rim lies so far from the camera's foot point as its centre does, and a radius; below
  // 0: hidden.
  double shown(double centre_mm) const { return per_mm_ * (centre_mm + rim_.radius_mm); }
  struct Across {
    Eigen::Vector2d zero, forward;
    double px_per_mm = 1;
  };
  // From the face to what lies beyond, in the picture.
  std::optional<Across> across(double direction_rad) const {
    const Eigen::Vector2d u(std::cos(direction_rad), std::sin(direction_rad)), at = center_ + radius_mm_ * u;
    const auto zero = pixel_from_part(board_, PartPoint::from(at)),
               probe = pixel_from_part(board_, PartPoint::from(at - kRimProbe_mm * u));
    if (!zero || !probe) return {};
    const Eigen::Vector2d step(probe->x_px - zero->x_px, probe->y_px - zero->y_px);
    return Across{{zero->x_px, zero->y_px}, step.normalized(), step.norm() / kRimProbe_mm};
  }

  std::optional<RimSector> read(double middle_rad) const {
    const auto middle = across(middle_rad);
    if (!middle) return {};
    const double px = middle->px_per_mm, turn = 2 * kPi / kRimSectors;
    const double widest_px = std::min(rim_.widest_mm, kWidestOfRadius * rim_.radius_mm) * px;
    RimSector sector;
    sector.px_per_mm = px;
    sector.start_px = -kRimStep_px * std::ceil((kWithinFace_blurs * blur_px_ + kWithinFace_px) / kRimStep_px);
    const double to_px = std::min(widest_px + kBeyondBreak_blurs * blur_px_, rim_.beyond_mm * scale_ * px);
    const auto length = static_cast<std::size_t>(std::max(0.0, (to_px - sector.start_px) / kRimStep_px));
    const int count = std::clamp(static_cast<int>(radius_mm_ * px * turn), kLeastProfiles, kMostProfiles);
    sector.light.assign(length, 0), sector.u_light.assign(length, 0);
    for (int j = 0; j < count; ++j) {
      const auto own = across(middle_rad + ((j + 0.5) / count - 0.5) * turn);
      if (!own) return {};
      for (std::size_t i = 0; i < length; ++i) {
        const Eigen::Vector2d q =
            own->zero + (sector.start_px + kRimStep_px * static_cast<double>(i)) * own->forward;
        if (!light_.holds(q.x(), q.y())) return {};
        const double light = light_.at(q.x(), q.y());
        sector.light[i] += light / count, sector.u_light[i] += light * light / count;
      }
    }
    for (std::size_t i = 0; i < length; ++i)
      sector.u_light[i] =
          std::sqrt(std::max(0.0, sector.u_light[i] - sector.light[i] * sector.light[i]) / count);
    // Beyond the rim its wall is seen on the far side; on the near one it hides what is next to it. Straight below the camera
    // the wall is seen all round, since its foot is farther off and so looks smaller.
    const Eigen::Vector2d out(std::cos(middle_rad), std::sin(middle_rad));
    const double shown_mm = shown(off_.dot(out)), most_mm = shown(off_.norm());
    sector.tells_width =
        most_mm * px < kWallShows_px || (out.dot(along_) < -kSideOn && shown_mm * px < kWallShows_px);
    sector.hidden_mm = std::max(0.0, -shown_mm);
    return sector;
  }

  const LightAt& light_;
  const MeasuringPlane& board_;
  const RimOnFace& rim_;
  const double blur_px_, scale_, radius_mm_;
  const Eigen::Vector2d center_;
  Eigen::Vector2d off_, along_;
  double per_mm_ = 0;
};

std::vector<double> widths_to_weigh(const std::vector<RimSector>& sectors, double blur_px, double widest_mm) {
  std::size_t length = sectors.front().light.size();
  for (const RimSector& s : sectors) length = std::min(length, s.light.size());
  const double to_px =
      sectors.front().start_px + kRimStep_px * static_cast<double>(length) - kBeyondBreak_blurs * blur_px;
  std::vector<double> widths{0};
  for (double w = kNarrowestBreak_mm * sectors.front().px_per_mm;
       w <= std::min(to_px, widest_mm * sectors.front().px_per_mm); w += kWidthStep_px)
    widths.push_back(w);
  return widths;
}

// Logarithm of the probability of each width beforehand.
std::vector<double> log_beforehand(const std::vector<double>& widths, double px_per_mm) {
  std::vector<double> log_weight;
  double total = 0;
  for (std::size_t k = 1; k < widths.size(); ++k) total += std::exp(-widths[k] / px_per_mm / kUsualWidth_mm);
  for (std::size_t k = 0; k < widths.size(); ++k)
    log_weight.push_back(k ? std::log((1 - kUnbroken) / total) - widths[k] / px_per_mm / kUsualWidth_mm
                           : std::log(kUnbroken));
  return log_weight;
}

// Of the sectors that tell the width, how many tell the likeliest break from none, and none much likelier from it.
double agreed(const std::vector<SectorWeighed>& weighed, const std::vector<double>& log_weight) {
  if (log_weight.size() < 2) return 0;
  const auto likeliest = static_cast<std::size_t>(std::max_element(log_weight.begin() + 1, log_weight.end()) -
                                                  log_weight.begin());
  int telling = 0, agree = 0;
  for (const SectorWeighed& s : weighed) {
    if (!s.tells_width) continue;
    const double there = s.log_likelihood[likeliest];
    ++telling;
    agree += there > s.log_likelihood[0] + kTellsFromNone &&
             there > *std::max_element(s.log_likelihood.begin(), s.log_likelihood.end()) - kTellsFromOther;
  }
  return telling ? static_cast<double>(agree) / telling : 0;
}

}  // namespace

std::vector<RimSector> sectors_of_rim(const LightAt& light, const MeasuringPlane& board,
                                      const CameraPlace& camera, const RimOnFace& rim, double blur_px) {
  return RimSectors(light, board, camera, rim, blur_px).read();
}

std::optional<BrokenRim> weigh_break(const std::vector<RimSector>& sectors, double blur_px,
                                     const RimOnFace& rim) {
  if (sectors.empty()) return {};
  std::optional<ShadeBeside> shade;
  if (rim.depth_mm > kShadesFrom_mm) shade.emplace(rim.radius_mm, rim.depth_mm);
  const std::vector<double> widths = widths_to_weigh(sectors, blur_px, rim.widest_mm);
  std::vector<SectorWeighed> weighed;
  std::vector<double> beyond_to_face;
  for (const RimSector& s : sectors)
    if (auto w = WeighSector(s, blur_px, widths, shade ? &*shade : nullptr).run()) {
      if (w->tells_width) beyond_to_face.push_back(w->beyond_to_face);
      weighed.push_back(std::move(*w));
    }
  if (beyond_to_face.size() < kLeastSectors) return {};
  const double px = sectors.front().px_per_mm;
  std::vector<double> log_weight = log_beforehand(widths, px), beyond, u2;
  for (std::size_t k = 0; k < widths.size(); ++k) {
    double sum = 0, weight = 0;
    for (const SectorWeighed& s : weighed) {
      if (s.tells_width) log_weight[k] += s.log_likelihood[k] / kSharedBySectors;
      const double own = 1 / (s.place2_px2[k] + kLeastOfSector_px * kLeastOfSector_px);
      sum += own * s.place_px[k], weight += own;
    }
    // Unbroken: the rim as found.
    beyond.push_back(k ? sum / weight + widths[k] : 0);
    u2.push_back(k ? kSharedBySectors / weight : 0);
  }
  const double most = *std::max_element(log_weight.begin(), log_weight.end());
  BrokenRim out;
  double sum = 0, second = 0, width2 = 0;
  for (std::size_t k = 0; k < widths.size(); ++k) {
    const double weight = std::exp(log_weight[k] - most);
    sum += weight;
    out.beyond_mm += weight * beyond[k], second += weight * (beyond[k] * beyond[k] + u2[k]);
    out.width_mm += weight * widths[k], width2 += weight * widths[k] * widths[k];
  }
  out.beyond_mm /= sum, out.width_mm /= sum;
  out.agreed_share = agreed(weighed, log_weight);
  const double u_px = std::sqrt(std::max(0.0, second / sum - out.beyond_mm * out.beyond_mm));
  out.u_width_mm = std::sqrt(std::max(0.0, width2 / sum - out.width_mm * out.width_mm));
  out.beyond_to_face = median(std::move(beyond_to_face));
  if (out.width_mm + out.u_width_mm > kNearWidest * widths.back() && widths.size() > 1) return {};
  const double scaled = px * rim.scale;
  out.beyond_mm /= scaled, out.width_mm /= scaled, out.u_width_mm /= scaled;
  out.u_mm = std::hypot(u_px, kBeyond_px) / scaled;
  return out;
}

}  // namespace rondure
