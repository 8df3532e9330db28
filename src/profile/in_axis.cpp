#include "in_axis.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

#include "rondure/profile/curve.hpp"

namespace rondure {
namespace {

constexpr double kFaceFrom = 0.97;     // cosine between an end's outline and the axis
constexpr double kGoesOn = 0.97;       // cosine between neighbours' normals: no corner
constexpr double kSmallFillet = 0.91;  // the same where a fillet of some twelve pixels begins
constexpr double kTurned = 0.98, kStraightOn = 0.9987;  // cosines over kClear steps: 0.2 and 0.05 rad
constexpr double kFlank = 0.1;       // less of the axis than this in a normal: the surface beyond a face
constexpr double kBridge_steps = 8;  // from a face's last point to its rim: a corner has no points
constexpr double kSteep =
    0.2;  // of a bow: there an error of the rim's radius tells on the place along the axis
constexpr double kLeans = 0.15;  // times kSteep: less tilt bows too little for that
constexpr int kClear = 3, kAxisRounds = 3;
constexpr int kBeyond = 30;            // points of the surface that tell where it meets a face
constexpr int kLeastBeyond = 4;        // of them, even where the next corner is near
constexpr int kLeastForBend = 8;       // of them, for a parabola
constexpr double kTurns = 0.97;        // cosine: a surface that turns farther is no parabola
constexpr double kClearOfFace = 0.34;  // of the radius in a normal: nearer to a face it tells no radius
constexpr int kLeastOfRounding = 4;    // points of a fillet
constexpr double kLeastRounding_steps = 2.5;               // a shorter turn is a corner's
constexpr double kArcSigma_steps = 0.1, kMostArcChi2 = 4;  // of its points
constexpr double kTangent = 0.97;                          // cosine: of a fillet that runs into its face
constexpr double kTurnsThroughout =
    0.3;  // of its turn in a fillet's middle half: 0.50 to 0.65 seen, of a chamfer 0
constexpr double kBothOuter = 1.2;

// A parabola through points by least squares, a line where they are few or too close, to go on a few steps past their end.
class MeetingCurve {
public:
  MeetingCurve(const std::vector<Eigen::Vector2d>& points, double step_mm) : from_(points.front()) {
    const int n = static_cast<int>(points.size());
    int terms = n < kLeastForBend ? std::min(n, 2) : 3;
    if (std::abs(points.back().x() - from_.x()) < step_mm) terms = 1;
    Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    for (const Eigen::Vector2d& p : points) {
      const double x = p.x() - from_.x();
      const Eigen::Vector3d row(1, x, x * x);
      normal += row * row.transpose(), right += p.y() * row;
    }
    const auto part = normal.topLeftCorner(terms, terms);
    terms_.head(terms) = part.ldlt().solve(right.head(terms));
  }
  double at(double x_mm) const {
    const double x = x_mm - from_.x();
    return terms_.dot(Eigen::Vector3d(1, x, x * x));
  }

private:
  Eigen::Vector2d from_;
  Eigen::Vector3d terms_ = Eigen::Vector3d::Zero();
};

struct Rim {
  double radius_mm = 0, fillet_mm = 0;
  bool rounded = false;
  std::vector<int> turning;  // points on the way from the face to the surface beyond
};

struct Rounding {
  double from_mm = 0;     // from the axis
  double tangent_mm = 0;  // its radius, where it runs into the face
};

// What share of a way's turn lies in its middle half: half of it on an arc, none along a chamfer.
double turn_in_middle(const InAxis& a, const std::vector<int>& way) {
  std::vector<double> along{0};
  for (std::size_t k = 1; k < way.size(); ++k)
    along.push_back(along.back() + (a.at[way[k]] - a.at[way[k - 1]]).norm());
  const auto direction = [&](double share) {
    const double at = share * along.back();
    std::size_t k = 1;
    while (k + 1 < way.size() && along[k] < at) ++k;
    const Eigen::Vector2d &one = a.normal[way[k - 1]], &other = a.normal[way[k]];
    const double f = (at - along[k - 1]) / std::max(1e-12, along[k] - along[k - 1]);
    return Eigen::Vector2d(one + std::clamp(f, 0.0, 1.0) * (other - one));
  };
  const auto between = [](const Eigen::Vector2d& p, const Eigen::Vector2d& q) {
    return std::abs(std::atan2(p.x() * q.y() - p.y() * q.x(), p.dot(q)));
  };
  const double whole = between(direction(0), direction(1));
  return whole > 0 ? between(direction(0.25), direction(0.75)) / whole : 0;
}

// Points that turn from a face to the surface beyond: of a tilted face's corner the solid has them all at one place, its
// rim; those of a fillet lie along its arc, and the rim is where that leaves the face.
std::optional<Rounding> rounding_of(const InAxis& a, int face, const std::vector<int>& turning,
                                    const SideCamera& camera, double step_mm) {
  std::vector<ProfilePointRZ> arc;
  std::vector<int> used;
  for (const int i : turning) {
    if (std::abs(a.normal[i].y()) < kClearOfFace) continue;
    const Eigen::Vector2d s = surface_from_outline(a.at[i], a.normal[i], camera);
    arc.push_back({s.x(), std::abs(s.y()), kArcSigma_steps * step_mm}), used.push_back(i);
  }
  const int n = static_cast<int>(arc.size());
  if (n < kLeastOfRounding) return std::nullopt;
  const double chord_mm = (arc.front().vec() - arc.back().vec()).norm();
  if (chord_mm < kLeastRounding_steps * step_mm) return std::nullopt;
  const auto fit = fit_curve(arc, 0, n - 1, true);
  if (!fit || fit->chi2 > kMostArcChi2 * n) return std::nullopt;
  const Eigen::Vector2d center = fit->center();
  if (turn_in_middle(a, used) < kTurnsThroughout) return std::nullopt;  // two corners and a chamfer between
  const double radius = fit->radius_mm(),
               inwards = (center.x() - arc[0].z_mm) * std::copysign(1.0, -a.normal[face].x());
  if (center.y() > arc.front().r_mm || inwards < 0) return std::nullopt;  // hollow
  const double place =
      face_from_outline(a.at[face], a.normal[face].x(), std::max(center.y(), step_mm), camera).x();
  const double across = std::abs(place - center.x());
  if (across > kTangent * radius) return Rounding{center.y(), radius};
  return Rounding{center.y() + std::sqrt(radius * radius - across * across), 0};
}

// The rim at one end of a run of face points (`face` its point nearest to the axis): where the surface beyond the run, as
// the solid has it, meets the face.
Rim rim_on_the_way(const InAxis& a, int face, int way, double tilt_rad, double step_mm, double goes_on_from) {
  const int n = static_cast<int>(a.at.size());
  const SideCamera camera(a.camera_mm, tilt_rad);
  Rim out;
  double rim = std::abs(a.at[face].y());
  // As far as the outline goes on without a gap or a corner, and `past_corner` over one at the start.
  const auto step_on = [&](int from, int steps, bool past_corner) {
    for (int m = 0; m < steps; ++m) {
      const int on = (from + way + n) % n;
      if ((a.at[on] - a.at[from]).norm() > kBridge_steps * step_mm) break;
      if (!(past_corner && m == 0) && a.normal[on].dot(a.normal[from]) < kGoesOn) break;
      from = on;
    }
    return from;
  };
  // Past a corner, however little it turns at once, a chamfer runs straight on; a tilted face's outline turns ever faster on
  // its way to its rim.
  const auto is_past_corner = [&](int from) {
    const int behind = (from + n - kClear * way) % n, ahead = (from + n + kClear * way) % n;
    return a.normal[behind].dot(a.normal[from]) < kTurned &&
           a.normal[ahead].dot(a.normal[from]) > kStraightOn &&
           (a.at[ahead] - a.at[behind]).norm() < 2 * kBridge_steps * step_mm;
  };
  for (int k = 0, j = face; k < n; ++k) {
    const int next = (j + way + n) % n;
    if ((a.at[next] - a.at[j]).norm() > kBridge_steps * step_mm) break;
    // a tilted face's outline turns into its rim little by little; a corner turns at once
    const bool same_end = a.normal[next].x() * a.normal[face].x() > 0;
    const bool goes_on = std::abs(a.normal[next].x()) > kFlank &&
                         a.normal[next].dot(a.normal[j]) > goes_on_from && !is_past_corner(next);
    if (same_end && (a.is_face[next] || goes_on)) {
      rim = std::max(rim, std::abs(a.at[next].y()));
      if (!a.is_face[next]) out.turning.push_back(next);
      j = next;
      continue;
    }
    const int near = step_on(next, kClear, true);
    if (std::abs(a.normal[near].y()) < 0.5) break;
    // The surface beyond, from a few steps on and clear of the corner that the picture rounds off.
    std::vector<Eigen::Vector2d> beyond;
    for (int on = near, further; static_cast<int>(beyond.size()) < kBeyond; on = further) {
      beyond.push_back(surface_from_outline(a.at[on], a.normal[on], camera));
      further = step_on(on, 1, false);
      if (further == on || a.normal[further].dot(a.normal[near]) < kTurns) break;
    }
    if (const int seen = static_cast<int>(beyond.size()); seen < kBeyond)
      beyond.resize(
          std::max(std::min(seen, kLeastBeyond), seen - kClear));  // its end may be the next corner's
    const MeetingCurve curve(beyond, step_mm);
    for (int round = 0; round < kAxisRounds; ++round)  // the face's place follows its rim
      rim = std::abs(curve.at(face_from_outline(a.at[face], a.normal[face].x(), rim, camera).x()));
    break;
  }
  const auto rounding = rounding_of(a, face, out.turning, camera, step_mm);
  out.rounded = rounding && rounding->from_mm > std::abs(a.at[face].y());
  out.radius_mm = out.rounded ? rounding->from_mm : rim;
  if (out.rounded) out.fillet_mm = rounding->tangent_mm;
  return out;
}

Rim rim_beyond(const InAxis& a, int face, int way, double tilt_rad, double step_mm) {
  const Rim plain = rim_on_the_way(a, face, way, tilt_rad, step_mm, kGoesOn);
  if (plain.rounded) return plain;
  const Rim fillet = rim_on_the_way(a, face, way, tilt_rad, step_mm, kSmallFillet);
  return fillet.rounded ? fillet : plain;
}

// Of both ends of a run: the outer one's, or of an end of the part, where both are outer, that of the rounded ones.
Rim rim_of(const InAxis& a, int nearest, double tilt_rad, double step_mm) {
  const Rim one = rim_beyond(a, nearest, -1, tilt_rad, step_mm),
            other = rim_beyond(a, nearest, 1, tilt_rad, step_mm);
  Rim out = one.radius_mm > other.radius_mm ? one : other;
  const Rim& less = one.radius_mm > other.radius_mm ? other : one;
  const bool both_outer = std::min(one.radius_mm, other.radius_mm) >
                          kBothOuter * std::abs(a.at[nearest].y()) + kBridge_steps * step_mm;
  if (both_outer && less.rounded) {
    if (!out.rounded)
      out.radius_mm = less.radius_mm, out.fillet_mm = less.fillet_mm;
    else
      out.radius_mm = 0.5 * (one.radius_mm + other.radius_mm),
      out.fillet_mm = 0.5 * (one.fillet_mm + other.fillet_mm);
    out.rounded = true;
    out.turning.insert(out.turning.end(), less.turning.begin(), less.turning.end());
  }
  return out;
}

// One rim a run of face points. A run ends at a gap, at a point that is no face, and where the outline looks the other way.
void put_rims(InAxis& a, double tilt_rad, double step_mm) {
  const int n = static_cast<int>(a.at.size());
  const auto same_run = [&](int i, int j) {
    return a.is_face[i] && a.is_face[j] && a.normal[i].x() * a.normal[j].x() > 0 &&
           (a.at[i] - a.at[j]).norm() <= kBridge_steps * step_mm;
  };
  int start = 0;
  while (start < n && same_run((start + n - 1) % n, start)) ++start;
  for (int from = start; from < start + n;) {
    int to = from + 1;
    while (to < start + n && same_run((to - 1) % n, to % n)) ++to;
    if (a.is_face[from % n]) {
      int nearest = from % n;
      for (int i = from; i < to; ++i)
        if (std::abs(a.at[i % n].y()) < std::abs(a.at[nearest].y())) nearest = i % n;
      const Rim rim = rim_of(a, nearest, tilt_rad, step_mm);
      for (int i = from; i < to; ++i) a.rim_mm[i % n] = rim.radius_mm, a.fillet_mm[i % n] = rim.fillet_mm;
      if (rim.rounded) {
        for (int i = from; i < to; ++i)
          if (std::abs(a.at[i % n].y()) > rim.radius_mm) a.is_face[i % n] = false, a.unclear[i % n] = true;
        for (const int i : rim.turning) a.unclear[i] = std::abs(a.normal[i].y()) < kClearOfFace;
      }
    }
    from = to;
  }
}

}  // namespace

Eigen::Vector2d InAxis::face_place(std::size_t i, const SideCamera& camera) const {
  return rounded_face_from_outline(at[i], normal[i], rim_mm[i], fillet_mm[i], camera);
}

InAxis in_axis(const std::vector<OutlinePoint>& outline, const MeridianAxis& axis,
               const Eigen::Vector3d& camera_mm, double tilt_rad, double step_mm) {
  const auto to_axis = [&](const Eigen::Vector2d& v) {
    return Eigen::Vector2d(axis.along.dot(v), axis.radial().dot(v));
  };
  InAxis out;
  double lo = 1e300, hi = -1e300;
  for (const OutlinePoint& p : outline) {
    out.at.push_back(to_axis(p.at - axis.origin)), out.normal.push_back(to_axis(p.outward));
    out.is_face.push_back(std::abs(out.normal.back().x()) > kFaceFrom);
    lo = std::min(lo, out.at.back().x()), hi = std::max(hi, out.at.back().x());
  }
  out.pivot_mm = 0.5 * (lo + hi);
  for (auto& p : out.at) p.x() -= out.pivot_mm;
  const Eigen::Vector2d over = to_axis(camera_mm.head<2>() - axis.origin);
  out.camera_mm = {over.x() - out.pivot_mm, over.y(), camera_mm.z()};
  out.rim_mm.assign(outline.size(), 0), out.fillet_mm.assign(outline.size(), 0);
  out.unclear.assign(outline.size(), false);
  put_rims(out, tilt_rad, step_mm);
  return out;
}

std::vector<bool> on_a_tip(const InAxis& a, double tilt_rad, double step_mm) {
  const int n = static_cast<int>(a.at.size());
  const SideCamera tilted(a.camera_mm, tilt_rad);
  const Eigen::Vector3d camera = tilted.turned(a.camera_mm);
  std::vector<bool> tip(a.at.size(), false);
  for (int i = 0; i < n; ++i) {
    if (!a.is_face[i]) continue;
    const Eigen::Vector3d at = tilted.turned({a.at[i].x(), a.at[i].y(), 0});
    // Where the bow is steeper than kSteep, an error of the rim's radius tells on the place along the axis.
    const double steep = std::abs(at.x() - camera.x()) / camera.z() / kSteep,
                 from_mm = a.rim_mm[i] / std::sqrt(1 + steep * steep) - step_mm;
    if (std::abs(a.at[i].y()) > from_mm) tip[i] = steep > kLeans;
    for (const int way : {-1, 1})
      // As far as the outline still looks along the axis: what looks across it is the surface beyond, however short.
      for (int next = (i + way + n) % n;
           !a.is_face[next] && a.normal[next].x() * std::copysign(1.0, a.normal[i].x()) > kFlank;
           next = (next + way + n) % n) {
        const double y = std::abs(a.at[next].y());
        if (y < from_mm || y > a.rim_mm[i] + step_mm || (a.at[next] - a.at[i]).norm() > a.rim_mm[i]) break;
        tip[next] = true;
      }
  }
  return tip;
}

}  // namespace rondure
