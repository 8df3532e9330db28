#include "cut_profile.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr double kCarried_sigma = 5;  // farther off a point is not the piece's
constexpr double kWave_ratio =
    1.2;  // of the floor, in the mean of both flanks along a row: 0.5 to 1.2 seen in JPEGs
constexpr std::size_t kLags = 6;      // neighbours whose errors may be alike; checked by side_scenes/study
constexpr double kLeastFreedom = 60;  // for such a scatter: known to 9 %, 1 / sqrt(2 x 60)
constexpr double kFilletFloor_ratio = 10;  // of the floor, in a fillet's radius and centre; set on seed 21
constexpr double kLeastLeft_ratio = 0.6;   // of a piece, when its ends are trimmed

double free_points(const ProfileCurve& c) { return std::max(1, c.points - (c.is_arc ? 3 : 2)); }

}  // namespace

double slope_rad(const ProfileCurve& c) {
  double a = c.normal_rad - 0.5 * kPi;
  while (a > 0.5 * kPi) a -= kPi;
  while (a <= -0.5 * kPi) a += kPi;
  return a;
}

double run_rad(const ProfileCurve& c, const Eigen::Vector2d& p) {
  if (!c.is_arc) return slope_rad(c);
  const Eigen::Vector2d d = p - c.center();
  return std::atan2(d.x(), -d.y());
}

double turn_between(double a, double b) { return std::abs(std::remainder(a - b, kPi)); }

double u_across(const ProfileCurve& c, const Eigen::Vector2d& p) {
  const Eigen::Vector2d q = p - c.middle, n = c.normal(), along(-n.y(), n.x());
  const Eigen::Vector3d j(q.squaredNorm(), q.dot(along), 1);
  return std::sqrt(std::max(0.0, j.dot(c.covariance * j)));
}

double u_center(const ProfileCurve& c, const Eigen::Vector2d& along) {
  const double A = c.half_curvature_per_mm, D = c.shift_mm, E = std::sqrt(std::max(1e-12, 1 + 4 * A * D));
  const double across = along.dot(c.normal()),
               turned = along.dot(Eigen::Vector2d(-c.normal().y(), c.normal().x()));
  const Eigen::Vector3d j(-across * (D / (A * E) - E / (2 * A * A)), -turned * E / (2 * A), -across / E);
  return std::sqrt(std::max(0.0, j.dot(c.covariance * j)));
}

CutProfile::CutProfile(const Meridian& whole, const std::vector<ProfilePointRZ>& of_points, const Cut& cut,
                       double shared, const ProfileCutOptions& how)
    : meridian(whole), points(of_points), options(how), pieces(cut.pieces) {
  for (Piece& p : pieces) trim(p);
  take_scatter(shared);
  for (const ProfilePointRZ& p : points)
    radius_mm = std::max(radius_mm, p.r_mm), length_mm = std::max(length_mm, p.z_mm);
  find_breaks();
}

// Points at an end that the piece's own curve does not carry are of a corner that something else hides.
void CutProfile::trim(Piece& p) const {
  const auto is_off = [&](int i) {
    return std::abs(p.curve.distance_mm(points[i].vec())) > kCarried_sigma * points[i].sigma_mm;
  };
  int from = p.from, to = p.to;
  while (to > from && is_off(to)) --to;
  while (from < to && is_off(from)) ++from;
  if ((from == p.from && to == p.to) || to - from < kLeastLeft_ratio * (p.to - p.from)) return;
  if (const auto fit = fit_curve(points, from, to, p.curve.is_arc)) p.from = from, p.to = to, p.curve = *fit;
}

// What the points of a picture show of themselves: their scatter about all pieces in units of their sigma, and how many
// neighbours share an error (1 + twice the sum of the correlations, tapered). Readings by hand are too few for that.
void CutProfile::take_scatter(double shared) {
  double chi2 = 0, freedom = 0;
  std::vector<double> product(kLags + 1, 0.0);
  for (const Piece& p : pieces) {
    chi2 += p.curve.chi2, freedom += free_points(p.curve);
    std::vector<double> off;
    for (int i = p.from; i <= p.to; ++i)
      off.push_back(std::clamp(p.curve.distance_mm(points[i].vec()) / points[i].sigma_mm, -kCarried_sigma,
                               kCarried_sigma));
    for (std::size_t lag = 0; lag <= kLags; ++lag)
      for (std::size_t i = 0; i + lag < off.size(); ++i) product[lag] += off[i] * off[i + lag];
  }
  double scatter2 = 1;
  if (shared > 1 && freedom > kLeastFreedom && product[0] > 0) {
    shared = 1, scatter2 = chi2 / freedom;
    for (std::size_t lag = 1; lag <= kLags; ++lag)
      shared += 2 * (1 - static_cast<double>(lag) / (kLags + 1)) * product[lag] / product[0];
    shared = std::max(1.0, shared);
  }
  for (Piece& p : pieces)
    p.curve.covariance *= shared * std::max(scatter2, p.curve.chi2 / free_points(p.curve));
}

void CutProfile::find_breaks() {
  breaks.push_back({points.front().vec(), 0, 0});
  for (std::size_t k = 0; k + 1 < pieces.size(); ++k) {
    const Piece &a = pieces[k], &b = pieces[k + 1];
    const Eigen::Vector2d about = 0.5 * (points[a.last].vec() + points[b.first].vec());
    const double reach = 3 * (points[b.from].vec() - points[a.to].vec()).norm() + 4 * options.blur_mm;
    Break at{about, 0, 0};
    if (const auto met = meeting(a.curve, b.curve, about, reach)) {
      at.at = *met;
      at_corner(k, k + 1, at);
    } else {  // somewhere between the last sure point of one and the first of the other
      const Eigen::Vector2d one = a.curve.foot(about), other = b.curve.foot(about),
                            gap = points[b.from].vec() - points[a.to].vec();
      const double apart = 0.5 * (one - other).norm();  // tangent ones: next to nothing
      at.at = 0.5 * (one + other);
      at.u_z_mm = std::hypot(gap.x() / std::sqrt(12.0), apart);
      at.u_r_mm = std::hypot(gap.y() / std::sqrt(12.0), apart);
      at.gap_mm = gap.norm();
    }
    breaks.push_back(at);
  }
  breaks.push_back({points.back().vec(), 0, 0});
}

// Uncertainty of where two curves meet: each moves across itself by what its fit leaves open there.
void CutProfile::at_corner(std::size_t one, std::size_t other, Break& at) const {
  const ProfileCurve &a = pieces[one].curve, &b = pieces[other].curve;
  const auto normal = [&](const ProfileCurve& c) -> Eigen::Vector2d {
    return c.is_arc ? Eigen::Vector2d((at.at - c.center()).normalized()) : c.normal();
  };
  Eigen::Matrix2d j;
  j.row(0) = normal(a), j.row(1) = normal(b);
  const Eigen::Matrix2d back = j.inverse();
  const double ua = std::hypot(u_across(a, at.at), wave_in_mean_mm(one), u_of_flanks_mm(one)),
               ub = std::hypot(u_across(b, at.at), wave_in_mean_mm(other), u_of_flanks_mm(other));
  at.u_z_mm = std::hypot(back(0, 0) * ua, back(0, 1) * ub);
  at.u_r_mm = std::hypot(back(1, 0) * ua, back(1, 1) * ub);
}

// Where a face lies along the axis: the mean of two flanks' readings that differ by more than their noise is known to half of
// the difference (GUM 4.2.3 of two). Between the flanks of a surface is its diameter, wherever its middle runs.
double CutProfile::u_of_flanks_mm(std::size_t k) const {
  const ProfileCurve& c = pieces[k].curve;
  if (c.is_arc || 0.5 * kPi - std::abs(slope_rad(c)) > kFaceWithin_rad) return 0;
  const auto half = half_difference(k);
  return half ? std::sqrt(std::max(0.0, half->value * half->value - half->u * half->u)) : 0;
}

// What the floor of the points' errors does to a slope over the piece's length.
double CutProfile::u_straight_rad(std::size_t k) const {
  const double length = carried_mm(k);
  return length > 0 ? std::hypot(0.5 * options.floor_mm, wave_in_turn_mm(k)) / length : 1;
}

// Errors that come back with every row of pixels an edge crosses are waves along it, of a phase not known: many of
// them average out, of one or less a mean and a slope keep what the least-squares line through a sine does.
double CutProfile::waves_rad(std::size_t k) const {
  if (!(options.pixel_mm > 0) || pieces[k].curve.is_arc) return 1e9;
  const double off_grid = std::remainder(options.axis_in_picture_rad + slope_rad(pieces[k].curve), 0.5 * kPi);
  return std::max(1e-3, 2 * kPi * carried_mm(k) * std::abs(std::tan(off_grid)) / options.pixel_mm);
}

double CutProfile::wave_in_mean_mm(std::size_t k) const {
  const double envelope = std::min(1.0, 2 / waves_rad(k));  // of |sin(w / 2) / (w / 2)|
  return wave_mm() * envelope * envelope;  // they are no pure sines: finer ones average out sooner
}

double CutProfile::wave_in_turn_mm(std::size_t k) const {  // from end to end
  const double w = waves_rad(k);
  return wave_mm() * 12 * std::abs(2 * std::sin(0.5 * w) / (w * w) - std::cos(0.5 * w) / w);
}

double CutProfile::u_place_mm(std::size_t k) const {
  return std::hypot(std::sqrt(std::max(0.0, pieces[k].curve.covariance(2, 2))), wave_in_mean_mm(k),
                    u_of_flanks_mm(k));
}

std::optional<Estimate> CutProfile::half_difference(std::size_t k) const {
  std::vector<double> d;
  for (int i = pieces[k].from; i <= pieces[k].to; ++i)
    if (const auto& h = meridian.points[i].half_difference_mm) d.push_back(*h);
  if (d.size() < 5) return std::nullopt;
  const double count = static_cast<double>(d.size());
  return Estimate{median(d), std::hypot(meridian.noise_mm * std::sqrt(3.0 / count), 0.5 * options.floor_mm)};
}

double CutProfile::u_slope_rad(std::size_t k) const {
  return std::sqrt(std::max(0.0, pieces[k].curve.covariance(1, 1)));
}
double CutProfile::wave_mm() const { return kWave_ratio * options.floor_mm; }
double CutProfile::carried_mm(std::size_t k) const {
  return (points[pieces[k].to].vec() - points[pieces[k].from].vec()).norm();
}
double CutProfile::chord_mm(std::size_t k) const { return (breaks[k + 1].at - breaks[k].at).norm(); }
double CutProfile::fillet_floor_mm() const { return kFilletFloor_ratio * options.floor_mm; }

}  // namespace rondure
