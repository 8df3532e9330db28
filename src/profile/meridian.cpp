#include "rondure/profile/meridian.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "axis_search.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr double kRound_ratio = 0.015;  // an outline no farther from a circle than this is no side view
constexpr double kTurnsBack_steps =
    2.5;  // an outline that runs back farther has not one radius at each place
constexpr double kSymmetric_ratio = 0.012;  // rms half difference of the flanks, of the part's mean radius
constexpr double kFlatter = 3;              // times: ends so much flatter decide between two axes
constexpr double kTiltedBow_ratio =
    0.03;                         // of the ends' half width: a tilt of 6 degrees bows them no more, rms
constexpr double kSameWay = 0.9;  // cosine between normals of partners: not across a corner
constexpr double kPartner_steps = 3;
constexpr int kMeridianRounds = 8;

struct Chain {
  std::vector<ProfilePointRZ> points;  // left to right
  std::vector<Eigen::Vector2d> outward;
};

struct Flanks {
  Chain upper, lower;
  double turns_back_mm = 0, left_mm = 0;
};

Eigen::Vector2d in_axis(const MeridianAxis& axis, const Eigen::Vector2d& v) {
  return {axis.along.dot(v), axis.radial().dot(v)};
}

double turns_back(const Chain& chain) {
  double far = -1e300, most = 0;
  for (const ProfilePointRZ& p : chain.points)
    far = std::max(far, p.z_mm), most = std::max(most, far - p.z_mm);
  return most;
}

// Both flanks, the lower one mirrored, left to right. The outline runs counter-clockwise: the upper flank from right
// to left.
Flanks split(const std::vector<OutlinePoint>& outline, const MeridianAxis& axis) {
  const int n = static_cast<int>(outline.size());
  std::vector<Eigen::Vector2d> zr(outline.size());
  for (int i = 0; i < n; ++i) zr[i] = in_axis(axis, outline[i].at - axis.origin);
  // Where it crosses the axis farthest left and right.
  int left = -1, right = -1;
  for (int i = 0; i < n; ++i) {
    const Eigen::Vector2d &a = zr[i], &b = zr[(i + 1) % n];
    if ((a.y() > 0) == (b.y() > 0)) continue;
    if (a.y() > 0 && (left < 0 || a.x() < zr[left].x())) left = i;
    if (a.y() <= 0 && (right < 0 || a.x() > zr[right].x())) right = i;
  }
  Flanks out;
  if (left < 0 || right < 0) return out;
  const auto put = [&](Chain& chain, int i, double side) {
    const Eigen::Vector2d o = in_axis(axis, outline[i].outward);
    chain.points.push_back({zr[i].x(), side * zr[i].y(), outline[i].sigma_mm});
    chain.outward.emplace_back(o.x(), side * o.y());
  };
  for (int i = left, steps = 0; i != right && steps < n; i = (i + n - 1) % n, ++steps) put(out.upper, i, 1);
  for (int i = (left + 1) % n, steps = 0; i != (right + 1) % n && steps < n; i = (i + 1) % n, ++steps)
    put(out.lower, i, -1);
  out.turns_back_mm = std::max(turns_back(out.upper), turns_back(out.lower));
  return out;
}

// Distance from p along its normal to the chain; searched about index `near`, which follows.
std::optional<double> across(const ProfilePointRZ& p, const Eigen::Vector2d& outward, const Chain& chain,
                             int& near, double reach_mm) {
  const int n = static_cast<int>(chain.points.size());
  double best = 1e300;
  int at = -1;
  for (int i = std::max(0, near - 60); i <= std::min(n - 1, near + 60); ++i)
    if (const double d = (chain.points[i].vec() - p.vec()).squaredNorm(); d < best) best = d, at = i;
  if (at < 0) return std::nullopt;
  near = at;
  const Eigen::Vector2d along(-outward.y(), outward.x());
  for (const int other : {at - 1, at + 1}) {
    if (other < 0 || other >= n) continue;
    const Eigen::Vector2d a = chain.points[at].vec() - p.vec(), b = chain.points[other].vec() - p.vec();
    const double ua = a.dot(along), ub = b.dot(along);
    if (ua * ub > 0 || std::abs(ub - ua) < 1e-12) continue;
    if ((b - a).norm() > reach_mm || a.norm() > reach_mm) return std::nullopt;
    if (chain.outward[at].dot(outward) < kSameWay || chain.outward[other].dot(outward) < kSameWay)
      return std::nullopt;
    const double f = -ua / (ub - ua);
    return (a + f * (b - a)).dot(outward);
  }
  return std::nullopt;
}

struct Mirrored {
  std::vector<std::optional<double>> distance_mm;  // upper point to lower flank, outwards
  double rms_mm = 0;
};

Mirrored mirror(const Flanks& flanks, double reach_mm) {
  Mirrored out;
  int near = 0;
  std::vector<double> sizes;
  for (std::size_t i = 0; i < flanks.upper.points.size(); ++i) {
    // From afar: the lower flank may have other points missing.
    if (i == 0) {
      double best = 1e300;
      for (std::size_t k = 0; k < flanks.lower.points.size(); ++k)
        if (const double d = (flanks.lower.points[k].vec() - flanks.upper.points[0].vec()).squaredNorm();
            d < best)
          best = d, near = static_cast<int>(k);
    }
    out.distance_mm.push_back(
        across(flanks.upper.points[i], flanks.upper.outward[i], flanks.lower, near, reach_mm));
    if (out.distance_mm.back()) sizes.push_back(*out.distance_mm.back() * *out.distance_mm.back());
  }
  double sum = 0;
  std::sort(sizes.begin(), sizes.end());
  const std::size_t kept = sizes.size() * 95 / 100;  // dust and nicks
  for (std::size_t i = 0; i < kept; ++i) sum += sizes[i];
  out.rms_mm = kept > 0 ? 0.5 * std::sqrt(sum / static_cast<double>(kept)) : 1e9;
  return out;
}

// Turns and shifts the axis until both flanks agree: turning it by a and lifting it by d moves the mirrored flank by
// 2 (d + a z) in r and -2 a r in z.
void refine(const std::vector<OutlinePoint>& outline, MeridianAxis& axis, double step_mm) {
  double reach_mm = 1e9;
  for (int round = 0; round < kMeridianRounds; ++round) {
    const Flanks flanks = split(outline, axis);
    if (flanks.upper.points.empty() || flanks.lower.points.empty()) return;
    const Mirrored m = mirror(flanks, reach_mm);
    std::vector<double> sizes;
    for (const auto& d : m.distance_mm)
      if (d) sizes.push_back(std::abs(*d));
    if (sizes.size() < 20) return;
    const double scale = std::max(1.5 * median(sizes), 1e-6);
    Eigen::Matrix2d normal = Eigen::Matrix2d::Identity() * 1e-12;
    Eigen::Vector2d right = Eigen::Vector2d::Zero();
    for (std::size_t i = 0; i < m.distance_mm.size(); ++i) {
      if (!m.distance_mm[i]) continue;
      const ProfilePointRZ& p = flanks.upper.points[i];
      const Eigen::Vector2d& o = flanks.upper.outward[i];
      const double d = *m.distance_mm[i], u = d / scale, w = 1 / (1 + u * u);
      // distance = (lower - upper) along the normal; lower moves by (-2 a r, 2 a z + 2 d).
      const Eigen::Vector2d j(2 * o.y(), 2 * (p.z_mm * o.y() - p.r_mm * o.x()));
      normal += w * j * j.transpose(), right -= w * d * j;
    }
    const Eigen::Vector2d step = normal.ldlt().solve(right);
    axis.origin += step[0] * axis.radial();
    const double turned = axis.angle_rad() + step[1];
    axis.along = {std::cos(turned), std::sin(turned)};
    reach_mm = kPartner_steps * step_mm;
    if (std::abs(step[0]) < 1e-7 && std::abs(step[1]) < 1e-8) break;
    if (round == 0) reach_mm = 30 * step_mm;
  }
}

// How far the ends bow: rms of z over the points that look along the axis, left and right.
double bow_of_ends(const Flanks& flanks) {
  double most = 0;
  for (const double side : {-1.0, 1.0}) {
    double sum = 0, sum2 = 0, n = 0;
    for (const Chain* chain : {&flanks.upper, &flanks.lower})
      for (std::size_t i = 0; i < chain->points.size(); ++i) {
        if (side * chain->outward[i].x() < 0.9) continue;
        sum += chain->points[i].z_mm, sum2 += chain->points[i].z_mm * chain->points[i].z_mm, n += 1;
      }
    if (n > 2) most = std::max(most, std::sqrt(std::max(0.0, sum2 / n - sum * sum / (n * n))));
  }
  return most;
}

double length_of(const Flanks& flanks) {
  double lo = 1e300, hi = -1e300;
  for (const ProfilePointRZ& p : flanks.upper.points) lo = std::min(lo, p.z_mm), hi = std::max(hi, p.z_mm);
  return hi - lo;
}

struct Candidate {
  MeridianAxis axis;
  Flanks flanks;
  Mirrored mirrored;
  double bow_mm = 0;
};

double from_x_rad(double angle_rad) {
  const double a = wrap_axis_rad(angle_rad);
  return std::min(a, kPi - a);
}

MeridianAxis start_axis(const Eigen::Vector2d& centre, double angle_rad) {
  double a = wrap_axis_rad(angle_rad);
  if (a > 0.75 * kPi) a -= kPi;  // left to right; upright ones upwards
  MeridianAxis axis;
  axis.origin = centre, axis.along = {std::cos(a), std::sin(a)};
  return axis;
}

Error cannot(const std::string& detail) { return {ErrorCode::kNoAnswer, detail}; }

Result<Candidate> choose(const std::vector<OutlinePoint>& outline, double step_mm,
                         std::optional<double> axis_deg, bool& two_ways) {
  const AxisSearch search = search_axes(outline);
  if (search.roundness_ratio < kRound_ratio)
    return cannot(
        "found a round outline, as of a part seen from above; needed the part on its side, seen square "
        "to its axis (a round part from above is measured without --side)");
  std::vector<double> angles = search.angles_rad;
  if (axis_deg) angles = {wrap_axis_rad(rad(*axis_deg))};
  std::vector<Candidate> fit;
  bool some_turn_back = false;
  double least_misfit = 1e9, size = 1;
  for (const double angle : angles) {
    Candidate c{start_axis(search.centre, angle), {}, {}, 0};
    refine(outline, c.axis, step_mm);
    c.flanks = split(outline, c.axis);
    if (c.flanks.upper.points.size() < 15 || c.flanks.lower.points.size() < 15) continue;
    c.mirrored = mirror(c.flanks, kPartner_steps * step_mm);
    c.bow_mm = bow_of_ends(c.flanks);
    double mean_radius = 0;
    for (const ProfilePointRZ& p : c.flanks.upper.points)
      mean_radius += p.r_mm / static_cast<double>(c.flanks.upper.points.size());
    least_misfit = std::min(least_misfit, c.mirrored.rms_mm), size = mean_radius;
    if (c.mirrored.rms_mm > kSymmetric_ratio * mean_radius) continue;
    if (c.flanks.turns_back_mm > kTurnsBack_steps * step_mm) {
      some_turn_back = true;
      continue;
    }
    const bool known = std::any_of(fit.begin(), fit.end(), [&](const Candidate& other) {
      return std::abs(other.axis.along.dot(c.axis.along)) > 0.99;
    });
    if (!known) fit.push_back(std::move(c));
  }
  if (fit.empty()) {
    char line[160];
    if (some_turn_back)
      return cannot(
          "found an outline that runs back along its axis of symmetry, needed a part of revolution seen "
          "square to its axis");
    if (least_misfit < 1e9)
      std::snprintf(line, sizeof line,
                    "found halves that differ by %.3f mm (rms), needed one axis of symmetry",
                    2 * least_misfit);
    else
      std::snprintf(line, sizeof line,
                    "found no axis of symmetry (best mirror image %.0f %% of the size off)",
                    100 * search.best_misfit_ratio);
    return cannot(std::string(line) + ": a whole part of revolution, seen square to its axis");
  }
  (void)size;
  std::sort(fit.begin(), fit.end(),
            [](const Candidate& a, const Candidate& b) { return a.bow_mm < b.bow_mm; });
  if (fit.size() > 1 && fit[1].bow_mm < kFlatter * fit[0].bow_mm + 0.5 * step_mm) {
    two_ways = true;
    std::sort(fit.begin(), fit.end(), [](const Candidate& a, const Candidate& b) {
      return from_x_rad(a.axis.angle_rad()) < from_x_rad(b.axis.angle_rad());
    });
  } else if (fit.size() > 1 && fit[1].bow_mm < kTiltedBow_ratio * 0.5 * length_of(fit[0].flanks)) {
    two_ways = true;  // or these are the flanks, and those the ends of a tilted part
  }
  return std::move(fit[0]);
}

}  // namespace

Result<Meridian> fold_outline(const std::vector<OutlinePoint>& outline, double step_mm,
                              std::optional<double> axis_deg) {
  if (outline.size() < 40)
    return Error{ErrorCode::kTooFewPoints,
                 "found " + std::to_string(outline.size()) + " points of an outline, needed 40 or more"};
  Meridian out;
  auto chosen = choose(outline, step_mm, axis_deg, out.two_ways);
  if (!chosen) return chosen.error();
  const Flanks& f = chosen->flanks;
  double sum2 = 0, count = 0;
  std::vector<double> jumps;
  std::optional<double> last;
  for (std::size_t i = 0; i < f.upper.points.size(); ++i) {
    MeridianPoint m{f.upper.points[i], f.upper.outward[i], {}};
    if (const auto& d = chosen->mirrored.distance_mm[i]) {
      const Eigen::Vector2d p = m.point.vec() + 0.5 * *d * m.outward;
      m.point.z_mm = p.x(), m.point.r_mm = p.y();
      m.point.sigma_mm /= std::sqrt(2.0);
      m.half_difference_mm = -0.5 * *d;
      sum2 += 0.25 * *d * *d, count += 1;
      if (last) jumps.push_back(std::abs(-0.5 * *d - *last));
    }
    last = m.half_difference_mm;
    out.points.push_back(m);
  }
  if (out.points.size() < 15)
    return Error{ErrorCode::kTooFewPoints, "found too few points of the part's flanks"};
  out.asymmetry_mm = count > 0 ? std::sqrt(sum2 / count) : 0;
  out.noise_mm = 1.4826 * median(jumps) / std::sqrt(2.0);
  // z from the left end.
  double left = 1e300, right = -1e300;
  for (const MeridianPoint& m : out.points)
    left = std::min(left, m.point.z_mm), right = std::max(right, m.point.z_mm);
  for (MeridianPoint& m : out.points) m.point.z_mm -= left;
  out.axis = chosen->axis;
  out.axis.origin += left * out.axis.along;
  out.length_mm = right - left;
  return out;
}

}  // namespace rondure
