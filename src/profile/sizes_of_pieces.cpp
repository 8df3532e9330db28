#include "sizes_of_pieces.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "rondure/core/median.hpp"
#include "rondure/core/normal_law.hpp"
#include "rondure/core/warning.hpp"

namespace rondure {
namespace {

constexpr double kFaceWithin_rad = 0.03;  // of square to the axis: draft of a moulded face
constexpr double kChamferFrom_rad = 0.35, kChamferTo_rad = 1.22;  // 20 to 70 degrees
constexpr double kShort_ratio = 0.12;       // of the part's length or radius: chamfers and fillets
constexpr double kBrokenEdge_ratio = 0.25;  // between a face and a surface: a broken edge may be so long
// Sagitta, in floors of a point's error, below which an arc square to the axis is a face and no crown; by judgement, checked by
// side_scenes/study.
constexpr double kFlatBow_floors = 4;
constexpr double kSlopeTold = 3;  // standard uncertainties, of a face
// A short arc that turns less (23 degrees) is a crown or a groove. By judgement; side_scenes/study checks the kinds.
constexpr double kFilletTurn_rad = 0.4;
constexpr double kQuarterTurn_rad =
    1.2;  // from one neighbour into the other: may be as long as a broken edge
constexpr std::size_t kDrawnPoints = 600;  // kept for the record and its drawings; by judgement
constexpr double kTangent_rad = 0.25;      // 14 degrees, to one neighbour at least; by judgement
constexpr double kNearTangent_rad = 0.45;  // of a quarter turn: 10 % of the radius
constexpr double kBentShared = 2.25;       // times as many neighbours share an error along a fillet
constexpr double kApart = 4;               // times its u: so far a fillet may miss a line, or cut it
constexpr double kCarried_sigma = 5;       // farther off a point is not the piece's
// Of a point's error that does not average out, what is left in a mean over a piece, and in the sagitta of an arc. Set by
// tests/bench/side_scenes/study on seeds 1, 2 and 13 of draw_parts.
constexpr double kMeanFloor_ratio = 0.24, kBendFloor_ratio = 0.2;
constexpr double kWave_ratio =
    1.2;  // of the floor, in the mean of both flanks along a row: 0.5 to 1.2 seen in JPEGs
constexpr std::size_t kLags = 6;      // neighbours whose errors may be alike; checked by side_scenes/study
constexpr double kLeastFreedom = 60;  // for such a scatter: known to 9 %, 1 / sqrt(2 x 60)
constexpr double kChamferFloor_ratio = 2;  // of the floor, at each end of a chamfer; set on seeds 21 and 1801
constexpr double kBreakFloor_ratio = 0.42;  // of the floor, where two pieces meet along the axis
constexpr double kFilletFloor_ratio = 10;   // of the floor, in a fillet's radius and centre; set on seed 21
constexpr double kSharpReach = 3;           // of a broken edge, to the corner it would have
constexpr double kLeastLeft_ratio = 0.6;    // of a piece, when its ends are trimmed

double slope_rad(const ProfileCurve& c) {  // of the line to the axis, in (-pi/2, pi/2]
  double a = c.normal_rad - 0.5 * kPi;
  while (a > 0.5 * kPi) a -= kPi;
  while (a <= -0.5 * kPi) a += kPi;
  return a;
}

// Direction of the curve's run at a place on it.
double run_rad(const ProfileCurve& c, const Eigen::Vector2d& p) {
  if (!c.is_arc) return slope_rad(c);
  const Eigen::Vector2d d = p - c.center();
  return std::atan2(d.x(), -d.y());
}

double turn_between(double a, double b) {
  const double d = std::abs(std::remainder(a - b, kPi));
  return d;
}

// Share of the evidence that a number is nought, read as `value` +- `u`, against one spread evenly over `range` (Bayes).
double share_of_nought(double value, double u, double range) {
  const double nought = normal_density(value / u) / u;
  return nought / (nought + 1 / range);
}

struct Break {
  Eigen::Vector2d at;
  double u_z_mm = 0, u_r_mm = 0;
  double gap_mm = 0;  // between the pieces' sure points, where they do not meet: the break is half way
};

class Sizes {
public:
  Sizes(const Meridian& meridian, const std::vector<ProfilePointRZ>& points, const Cut& cut, double shared,
        const ProfileCutOptions& options)
      : meridian_(meridian), points_(points), pieces_(cut.pieces), options_(options) {
    for (Piece& p : pieces_) trim(p);
    take_scatter(shared);
    for (const ProfilePointRZ& p : points)
      radius_mm_ = std::max(radius_mm_, p.r_mm), length_mm_ = std::max(length_mm_, p.z_mm);
  }

  Result<void> run(SideProfile& out) {
    find_breaks();
    for (std::size_t k = 0; k < pieces_.size(); ++k) out.segments.push_back(segment(k));
    settle_kinds(out.segments);
    out.p_as_cut *= share_of_kinds(out.segments);
    join_fillets(out.segments);
    widen_chamfers(out.segments);
    for (std::size_t k = 0; k < pieces_.size(); ++k) measure(k, out);
    whole_length(out);
    notes(out);
    const std::size_t every = 1 + points_.size() / kDrawnPoints;
    for (std::size_t i = 0; i < points_.size(); i += every)
      out.points.push_back(points_[i].vec() - Eigen::Vector2d(left_mm_, 0));
    return {};
  }

private:
  // Points at an end that the piece's own curve does not carry are of a corner that something else hides.
  void trim(Piece& p) const {
    const auto is_off = [&](int i) {
      return std::abs(p.curve.distance_mm(points_[i].vec())) > kCarried_sigma * points_[i].sigma_mm;
    };
    int from = p.from, to = p.to;
    while (to > from && is_off(to)) --to;
    while (from < to && is_off(from)) ++from;
    if ((from == p.from && to == p.to) || to - from < kLeastLeft_ratio * (p.to - p.from)) return;
    if (const auto fit = fit_curve(points_, from, to, p.curve.is_arc))
      p.from = from, p.to = to, p.curve = *fit;
  }

  // What the points of a picture show of themselves: their scatter about all pieces in units of their sigma, and how many
  // neighbours share an error (1 + twice the sum of the correlations, tapered). Readings by hand are too few for that.
  void take_scatter(double shared) {
    double chi2 = 0, freedom = 0;
    std::vector<double> product(kLags + 1, 0.0);
    for (const Piece& p : pieces_) {
      chi2 += p.curve.chi2, freedom += free_points(p.curve);
      std::vector<double> off;
      for (int i = p.from; i <= p.to; ++i)
        off.push_back(std::clamp(p.curve.distance_mm(points_[i].vec()) / points_[i].sigma_mm, -kCarried_sigma,
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
    for (Piece& p : pieces_)
      p.curve.covariance *= shared * std::max(scatter2, p.curve.chi2 / free_points(p.curve));
  }
  static double free_points(const ProfileCurve& c) { return std::max(1, c.points - (c.is_arc ? 3 : 2)); }

  double u_slope_rad(const ProfileCurve& c) const { return std::sqrt(std::max(0.0, c.covariance(1, 1))); }
  double u_place_mm(std::size_t k) const {  // of the middle, across
    return std::hypot(std::sqrt(std::max(0.0, pieces_[k].curve.covariance(2, 2))), wave_in_mean_mm(k),
                      u_of_flanks_mm(k));
  }

  void find_breaks() {
    breaks_.push_back({points_.front().vec(), 0, 0});
    for (std::size_t k = 0; k + 1 < pieces_.size(); ++k) {
      const Piece &a = pieces_[k], &b = pieces_[k + 1];
      const Eigen::Vector2d about = 0.5 * (points_[a.last].vec() + points_[b.first].vec());
      const double reach = 3 * (points_[b.from].vec() - points_[a.to].vec()).norm() + 4 * options_.blur_mm;
      Break at{about, 0, 0};
      if (const auto met = meeting(a.curve, b.curve, about, reach)) {
        at.at = *met;
        at_corner(k, k + 1, at);
      } else {  // somewhere between the last sure point of one and the first of the other
        const Eigen::Vector2d one = a.curve.foot(about), other = b.curve.foot(about),
                              gap = points_[b.from].vec() - points_[a.to].vec();
        const double apart = 0.5 * (one - other).norm();  // tangent ones: next to nothing
        at.at = 0.5 * (one + other);
        at.u_z_mm = std::hypot(gap.x() / std::sqrt(12.0), apart);
        at.u_r_mm = std::hypot(gap.y() / std::sqrt(12.0), apart);
        at.gap_mm = gap.norm();
      }
      breaks_.push_back(at);
    }
    breaks_.push_back({points_.back().vec(), 0, 0});
  }

  // Uncertainty of where two curves meet: each moves across itself by what its fit leaves open there.
  void at_corner(std::size_t one, std::size_t other, Break& at) const {
    const ProfileCurve &a = pieces_[one].curve, &b = pieces_[other].curve;
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
  double u_of_flanks_mm(std::size_t k) const {
    const ProfileCurve& c = pieces_[k].curve;
    if (c.is_arc || 0.5 * kPi - std::abs(slope_rad(c)) > kFaceWithin_rad) return 0;
    const auto half = half_difference(k);
    return half ? std::sqrt(std::max(0.0, half->value * half->value - half->u * half->u)) : 0;
  }

  // Of the curve's place across itself at p.
  static double u_across(const ProfileCurve& c, const Eigen::Vector2d& p) {
    const Eigen::Vector2d q = p - c.middle, n = c.normal(), along(-n.y(), n.x());
    const Eigen::Vector3d j(q.squaredNorm(), q.dot(along), 1);
    return std::sqrt(std::max(0.0, j.dot(c.covariance * j)));
  }

  ProfileSegment segment(std::size_t k) const {
    ProfileSegment s;
    s.from_mm = breaks_[k].at.x(), s.to_mm = breaks_[k + 1].at.x();
    s.from_radius_mm = breaks_[k].at.y(), s.to_radius_mm = breaks_[k + 1].at.y();
    const ProfileCurve& c = pieces_[k].curve;
    s.rms_mm = rms(pieces_[k]);
    if (c.is_arc && is_flat_face(k)) {
      s.kind = SegmentKind::kFace;
      return s;
    }
    if (c.is_arc) {
      s.kind = SegmentKind::kArc;
      const Eigen::Vector2d middle = c.foot(0.5 * (breaks_[k].at + breaks_[k + 1].at));
      s.concave = c.center().y() > middle.y();
      return s;
    }
    const double slope = slope_rad(c), steep = std::abs(slope);
    if (0.5 * kPi - steep < std::max(kFaceWithin_rad, kSlopeTold * u_slope_rad(c)))
      s.kind = SegmentKind::kFace;
    else
      s.kind = share_of_cylinder(k) > 0.5 ? SegmentKind::kCylinder : SegmentKind::kTaper;
    return s;
  }

  // Against tapers of any slope up to a chamfer's, either way.
  double share_of_cylinder(std::size_t k) const {
    const ProfileCurve& c = pieces_[k].curve;
    return share_of_nought(slope_rad(c), std::hypot(u_slope_rad(c), u_straight_rad(k)), 2 * kChamferFrom_rad);
  }

  // Share of the evidence for the kinds that the pieces are called, of those between which their forms do not decide.
  double share_of_kinds(const std::vector<ProfileSegment>& all) const {
    double share = 1;
    for (std::size_t k = 0; k < all.size(); ++k) {
      if (all[k].kind == SegmentKind::kCylinder) share *= share_of_cylinder(k);
      if (all[k].kind == SegmentKind::kTaper) share *= 1 - share_of_cylinder(k);
      if (is_rounding(all, k)) {
        const double fillet = share_of_fillet(k);
        share *= all[k].kind == SegmentKind::kFillet ? fillet : 1 - fillet;
      }
    }
    return share;
  }

  // A face whose bow is no more than errors of the outline that run on: no crown, however well an arc fits it.
  bool is_flat_face(std::size_t k) const {
    const ProfileCurve& c = pieces_[k].curve;
    const double chord = carried_mm(k);
    const auto is_square = [&](std::size_t b) {
      return turn_between(run_rad(c, breaks_[b].at), 0.5 * kPi) < kFaceWithin_rad;
    };
    return chord * chord / (8 * c.radius_mm()) < kFlatBow_floors * options_.floor_mm && is_square(k) &&
           is_square(k + 1);
  }

  double carried_mm(std::size_t k) const {
    return (points_[pieces_[k].to].vec() - points_[pieces_[k].from].vec()).norm();
  }

  // What the floor of the points' errors does to a slope over the piece's length.
  double u_straight_rad(std::size_t k) const {
    const double length = carried_mm(k);
    return length > 0 ? std::hypot(0.5 * options_.floor_mm, wave_in_turn_mm(k)) / length : 1;
  }

  // Errors that come back with every row of pixels an edge crosses are waves along it, of a phase not known: many of
  // them average out, of one or less a mean and a slope keep what the least-squares line through a sine does.
  double waves_rad(std::size_t k) const {
    if (!(options_.pixel_mm > 0) || pieces_[k].curve.is_arc) return 1e9;
    const double off_grid =
        std::remainder(options_.axis_in_picture_rad + slope_rad(pieces_[k].curve), 0.5 * kPi);
    return std::max(1e-3, 2 * kPi * carried_mm(k) * std::abs(std::tan(off_grid)) / options_.pixel_mm);
  }
  double wave_mm() const { return kWave_ratio * options_.floor_mm; }
  double wave_in_mean_mm(std::size_t k) const {
    const double envelope = std::min(1.0, 2 / waves_rad(k));  // of |sin(w / 2) / (w / 2)|
    return wave_mm() * envelope * envelope;  // they are no pure sines: finer ones average out sooner
  }
  double wave_in_turn_mm(std::size_t k) const {  // from end to end
    const double w = waves_rad(k);
    return wave_mm() * 12 * std::abs(2 * std::sin(0.5 * w) / (w * w) - std::cos(0.5 * w) / w);
  }

  double rms(const Piece& p) const {
    std::vector<double> d;
    for (int i = p.from; i <= p.to; ++i) d.push_back(std::abs(p.curve.distance_mm(points_[i].vec())));
    return 1.4826 * median(d);
  }

  double chord_mm(std::size_t k) const { return (breaks_[k + 1].at - breaks_[k].at).norm(); }

  // Chamfers and fillets: short, between two others.
  void settle_kinds(std::vector<ProfileSegment>& all) {
    const double is_short = kShort_ratio * std::max(radius_mm_, length_mm_);
    for (std::size_t k = 1; k + 1 < all.size(); ++k) {
      ProfileSegment& s = all[k];
      const ProfileCurve& c = pieces_[k].curve;
      if (s.kind == SegmentKind::kTaper) {
        const double steep = std::abs(slope_rad(c));
        const bool breaks_edge =
            (all[k - 1].kind == SegmentKind::kFace) != (all[k + 1].kind == SegmentKind::kFace);
        if (steep > kChamferFrom_rad && steep < kChamferTo_rad &&
            chord_mm(k) < (breaks_edge ? kBrokenEdge_ratio / kShort_ratio : 1) * is_short)
          s.kind = SegmentKind::kChamfer;
      } else if (s.kind == SegmentKind::kArc) {
        const double turn = turn_rad(k);
        const double before = turn_at(k, k - 1), after = turn_at(k, k + 1);
        const bool quarter = turn > kQuarterTurn_rad && before < kNearTangent_rad && after < kNearTangent_rad;
        const bool small = turn > kFilletTurn_rad &&
                           c.radius_mm() < (quarter ? kBrokenEdge_ratio / kShort_ratio : 1) * is_short &&
                           (before < kTangent_rad || after < kTangent_rad);
        if (small || (is_rounding(all, k) && share_of_fillet(k) > 0.5)) {
          s.kind = SegmentKind::kFillet;
          pieces_[k].curve.covariance *= kBentShared;
        }
      }
    }
  }

  double turn_rad(std::size_t k) const {
    return 2 * std::asin(std::min(1.0, 0.5 * chord_mm(k) / pieces_[k].curve.radius_mm()));
  }
  // Between the runs of a piece and a neighbour where they meet.
  double turn_at(std::size_t k, std::size_t other) const {
    const Eigen::Vector2d& at = breaks_[std::max(k, other)].at;
    return turn_between(run_rad(pieces_[other].curve, at), run_rad(pieces_[k].curve, at));
  }

  // An arc that leads from a face into a surface, of whatever size: a fillet where it is tangent to both, else a crown or
  // a groove.
  bool is_rounding(const std::vector<ProfileSegment>& all, std::size_t k) const {
    const bool is_arc = all[k].kind == SegmentKind::kArc || all[k].kind == SegmentKind::kFillet;
    if (!is_arc || k == 0 || k + 1 == all.size()) return false;
    const SegmentKind before = all[k - 1].kind, after = all[k + 1].kind;
    return (before == SegmentKind::kFace) != (after == SegmentKind::kFace) && !pieces_[k - 1].curve.is_arc &&
           !pieces_[k + 1].curve.is_arc && most_turn_rad(k) > kQuarterTurn_rad;
  }
  // With what the gaps beside it may hide: beside its face a fillet tells no radius, and its points there are none.
  double most_turn_rad(std::size_t k) const {
    return turn_rad(k) + 0.5 * (breaks_[k].gap_mm + breaks_[k + 1].gap_mm) / pieces_[k].curve.radius_mm();
  }
  double share_of_fillet(std::size_t k) const {
    double odds = 1;  // tangent at both ends, against at neither
    for (const std::size_t other : {k - 1, k + 1}) {
      const auto [apart, u] = apart_mm(k, other);
      odds *= normal_density(apart / u) / u * 2 * pieces_[k].curve.radius_mm();
    }
    return odds / (1 + odds);
  }
  // How far an arc misses a line (or, negative, cuts it) and the standard uncertainty of that.
  std::pair<double, double> apart_mm(std::size_t k, std::size_t other) const {
    const ProfileCurve &arc = pieces_[k].curve, &line = pieces_[other].curve;
    const double off = line.distance_mm(arc.center());
    const Eigen::Vector2d at = arc.center() - off * line.normal();
    return {std::abs(off) - arc.radius_mm(),
            std::hypot(u_across(arc, arc.foot(at)), u_across(line, at), fillet_floor())};
  }

  // A fillet runs into a straight neighbour where the neighbour is nearest to its centre; where they cross at a narrow
  // angle tells next to nothing.
  void join_fillets(std::vector<ProfileSegment>& all) {
    for (std::size_t k = 1; k + 1 < all.size(); ++k) {
      if (all[k].kind != SegmentKind::kFillet) continue;
      for (const std::size_t other : {k - 1, k + 1}) {
        const ProfileCurve &arc = pieces_[k].curve, &line = pieces_[other].curve;
        if (line.is_arc) continue;
        const auto [apart, u_apart] = apart_mm(k, other);
        if (std::abs(apart) > kApart * u_apart) continue;
        const Eigen::Vector2d at = arc.center() - line.distance_mm(arc.center()) * line.normal();
        const Eigen::Vector2d along(line.normal().y(), -line.normal().x());
        const double u = std::hypot(u_center(arc, along), fillet_floor());
        breaks_[std::max(k, other)] = {at, u * std::abs(along.x()), u * std::abs(along.y())};
        ProfileSegment &left = all[std::min(k, other)], &right = all[std::max(k, other)];
        left.to_mm = right.from_mm = at.x(), left.to_radius_mm = right.from_radius_mm = at.y();
      }
    }
  }

  // A few points between two corners: what the corners' blur leaves in them does not average out.
  void widen_chamfers(const std::vector<ProfileSegment>& all) {
    for (std::size_t k = 0; k < all.size(); ++k)
      if (all[k].kind == SegmentKind::kChamfer)
        for (Break* end : {&breaks_[k], &breaks_[k + 1]})
          end->u_z_mm = std::hypot(end->u_z_mm, kChamferFloor_ratio * options_.floor_mm);
  }

  // Where an outline bends so much its points err together, more than along what is straight: kBentShared, and this.
  double fillet_floor() const { return kFilletFloor_ratio * options_.floor_mm; }

  // Of an arc's centre along a direction.
  static double u_center(const ProfileCurve& c, const Eigen::Vector2d& along) {
    const double A = c.half_curvature_per_mm, D = c.shift_mm, E = std::sqrt(std::max(1e-12, 1 + 4 * A * D));
    const double across = along.dot(c.normal()),
                 turned = along.dot(Eigen::Vector2d(-c.normal().y(), c.normal().x()));
    const Eigen::Vector3d j(-across * (D / (A * E) - E / (2 * A * A)), -turned * E / (2 * A), -across / E);
    return std::sqrt(std::max(0.0, j.dot(c.covariance * j)));
  }

  struct Parts {
    double noise_mm = 0, edge_mm = 0, scale_mm = 0, tilt_mm = 0;
    Estimate put(double value, std::vector<BudgetLine>* budget) const {
      if (budget) {
        budget->clear();
        budget->push_back({UncertaintySource::kEdgeNoise, noise_mm});
        if (edge_mm > 0) budget->push_back({UncertaintySource::kEdgeOffset, edge_mm});
        if (scale_mm > 0) budget->push_back({UncertaintySource::kScale, scale_mm});
        if (tilt_mm > 0) budget->push_back({UncertaintySource::kTilt, tilt_mm});
      }
      return {value,
              std::sqrt(noise_mm * noise_mm + edge_mm * edge_mm + scale_mm * scale_mm + tilt_mm * tilt_mm)};
    }
  };

  Parts parts(double value_mm, double noise_mm, double edges) const {
    return {std::hypot(noise_mm, floor_of_mean() * (edges > 0 ? std::sqrt(edges) : 1)),
            edges * options_.u_edge_offset_mm, std::abs(value_mm) * options_.u_scale_ratio};
  }
  // Along the axis: a tilt moves a face by its rim's radius times the mean of sqrt(1 - (y/R)^2) over what is used of it.
  Parts width_parts(double value_mm, double noise_mm, double edges) const {
    Parts p = parts(value_mm, noise_mm, edges);
    p.tilt_mm = 0.85 * std::max(1.0, edges) * radius_mm_ * options_.u_tilt_rad;
    return p;
  }
  // The floor again, of a mean over a piece: errors of the lens and of compression run on for some way.
  double floor_of_mean() const { return kMeanFloor_ratio * options_.floor_mm; }

  // Which way an end of a width moves when every edge moves outwards: +1 right, -1 left.
  double outwards(std::size_t k) const {
    const Eigen::Vector2d d = breaks_[k + 1].at - breaks_[k].at;
    return d.y() > 0 ? -1 : 1;  // a face that rises looks left
  }
  // Edges' share in where break b lies along the axis.
  double edge_share(std::size_t b) const {
    for (const std::size_t k : {b - 1, b})
      if (k < pieces_.size() && !pieces_[k].curve.is_arc &&
          0.5 * kPi - std::abs(slope_rad(pieces_[k].curve)) < kFaceWithin_rad)
        return outwards(k);
    return 0;
  }

  void measure(std::size_t k, SideProfile& out) {
    ProfileSegment& s = out.segments[k];
    const ProfileCurve& c = pieces_[k].curve;
    flank_difference(k, s);
    if (s.kind == SegmentKind::kFace) return;
    const double edges = std::abs(edge_share(k + 1) - edge_share(k));
    const double width = s.to_mm - s.from_mm;
    const double u_ends =
        std::hypot(breaks_[k].u_z_mm, breaks_[k + 1].u_z_mm, kBreakFloor_ratio * options_.floor_mm);
    s.width_mm = width_parts(width, u_ends, edges).put(width, &s.budget);
    sharp_width(k, out);
    const auto diameter = [&](double radius, double u_radius) {
      return parts(2 * radius, 2 * u_radius, 2).put(2 * radius, &s.budget);
    };
    if (s.kind == SegmentKind::kCylinder) {
      const double r = mean_radius(pieces_[k]);
      s.diameter_mm = diameter(r, u_place_mm(k));
      s.from_radius_mm = s.to_radius_mm = r;
    } else if (s.kind == SegmentKind::kTaper || s.kind == SegmentKind::kChamfer) {
      const double angle = deg(std::abs(slope_rad(c)));
      s.angle_deg = Estimate{angle, deg(std::hypot(u_slope_rad(c), u_straight_rad(k)))};
      if (s.kind == SegmentKind::kTaper) {
        s.end_diameter_mm = diameter(s.to_radius_mm, u_across(c, breaks_[k + 1].at));
        s.diameter_mm = diameter(s.from_radius_mm, u_across(c, breaks_[k].at));
      } else {  // named by its width
        s.width_mm = width_parts(width, u_ends, edges).put(width, &s.budget);
      }
    } else {
      measure_arc(k, s);
    }
  }

  // Between the corners that the surface would have without its broken edges.
  void sharp_width(std::size_t k, SideProfile& out) const {
    const auto is_edge = [&](std::size_t i) {
      return out.segments[i].kind == SegmentKind::kChamfer || out.segments[i].kind == SegmentKind::kFillet;
    };
    const std::size_t last = pieces_.size() - 1;
    if (is_edge(k) || k == 0 || k == last || !(is_edge(k - 1) || is_edge(k + 1))) return;
    Break ends[2] = {breaks_[k], breaks_[k + 1]};
    double edges[2] = {edge_share(k), edge_share(k + 1)};
    for (const int side : {0, 1}) {
      const std::size_t edge = side == 0 ? k - 1 : k + 1;
      if (!is_edge(edge)) continue;
      if (edge == 0 || edge == last) return;
      const std::size_t beyond = side == 0 ? edge - 1 : edge + 1;
      const ProfileCurve& c = pieces_[beyond].curve;
      const auto met =
          c.is_arc ? std::nullopt : meeting(pieces_[k].curve, c, ends[side].at, kSharpReach * chord_mm(edge));
      if (!met) return;
      ends[side].at = *met, at_corner(k, beyond, ends[side]);
      edges[side] = 0.5 * kPi - std::abs(slope_rad(c)) < kFaceWithin_rad ? outwards(beyond) : 0;
    }
    const double width = ends[1].at.x() - ends[0].at.x();
    const double u = std::hypot(ends[0].u_z_mm, ends[1].u_z_mm, kBreakFloor_ratio * options_.floor_mm);
    if (width > 0)
      out.segments[k].sharp_width_mm =
          width_parts(width, u, std::abs(edges[1] - edges[0])).put(width, nullptr);
  }

  void measure_arc(std::size_t k, ProfileSegment& s) {
    const ProfileCurve& c = pieces_[k].curve;
    const double side = s.concave ? -1 : 1;
    const Eigen::Vector2d center = c.center();
    if (center.x() > s.from_mm && center.x() < s.to_mm && s.kind == SegmentKind::kArc) {
      s.top_mm = center.x();
      const double top = center.y() + side * c.radius_mm();
      s.height_mm = side * (top - 0.5 * (s.from_radius_mm + s.to_radius_mm));
      s.diameter_mm = parts(2 * top, 2 * u_across(c, {center.x(), top}), 2).put(2 * top, nullptr);
    } else if (s.kind == SegmentKind::kArc) {
      const double top =
          s.concave ? std::min(s.from_radius_mm, s.to_radius_mm) : std::max(s.from_radius_mm, s.to_radius_mm);
      s.diameter_mm =
          parts(2 * top, 2 * std::max(breaks_[k].u_r_mm, breaks_[k + 1].u_r_mm), 2).put(2 * top, nullptr);
    }
    // Curvature carries the uncertainty: from the points, and from a floor of errors that bend with the arc.
    const double chord = carried_mm(k);
    const double u_bend_mm = kBendFloor_ratio * options_.floor_mm;  // of the sagitta
    const double kappa = 1 / c.radius_mm(), u_noise = 2 * std::sqrt(std::max(0.0, c.covariance(0, 0))),
                 u_floor = 8 * u_bend_mm / (chord * chord), u_kappa = std::hypot(u_noise, u_floor);
    const double r = c.radius_mm(), u_edge = options_.u_edge_offset_mm, u_scale = r * options_.u_scale_ratio;
    const double u_points =
        s.kind == SegmentKind::kFillet ? std::hypot(r * r * u_kappa, fillet_floor()) : r * r * u_kappa;
    const Parts p{u_points, u_edge, u_scale};
    s.radius_mm = p.put(r, &s.budget);
    const double lo = kappa - kNormal95 * u_points / (r * r), hi = kappa + kNormal95 * u_points / (r * r),
                 rest = kNormal95 * std::hypot(u_edge, u_scale);
    if (lo > 0) {
      const double below = r - 1 / hi, above = 1 / lo - r;
      s.radius95_mm = Interval{r - std::hypot(below, rest), r + std::hypot(above, rest)};
    }
  }

  double mean_radius(const Piece& p) const {
    double sum = 0, weight = 0;
    for (int i = p.from; i <= p.to; ++i) {
      const double w = 1 / (points_[i].sigma_mm * points_[i].sigma_mm);
      const double off = std::abs(p.curve.distance_mm(points_[i].vec())) / points_[i].sigma_mm;
      const double robust = off < 4 ? 1 : 4 / off;
      sum += w * robust * points_[i].r_mm, weight += w * robust;
    }
    return sum / weight;
  }

  // Upper flank less the mean of both.
  std::optional<Estimate> half_difference(std::size_t k) const {
    std::vector<double> d;
    for (int i = pieces_[k].from; i <= pieces_[k].to; ++i)
      if (const auto& h = meridian_.points[i].half_difference_mm) d.push_back(*h);
    if (d.size() < 5) return std::nullopt;
    const double count = static_cast<double>(d.size());
    return Estimate{median(d),
                    std::hypot(meridian_.noise_mm * std::sqrt(3.0 / count), 0.5 * options_.floor_mm)};
  }
  void flank_difference(std::size_t k, ProfileSegment& s) const {
    if (const auto half = half_difference(k))
      s.flank_difference_mm = half->value, s.u_flank_difference_mm = half->u;
  }

  void whole_length(SideProfile& out) {
    const std::size_t last = pieces_.size() - 1;
    const auto is_end = [&](std::size_t k) { return out.segments[k].kind == SegmentKind::kFace; };
    if (!is_end(0) || !is_end(last)) {
      out.warnings.push_back(
          {"no-end-face", "an end of the part is no flat face: its whole width is not given"});
      return;
    }
    const auto place = [&](std::size_t k) {
      double sum = 0, weight = 0;
      for (int i = pieces_[k].from; i <= pieces_[k].to; ++i) sum += points_[i].z_mm, weight += 1;
      return sum / weight;
    };
    const double left = left_mm_ = place(0), length = place(last) - left;
    out.length_mm =
        width_parts(length, std::hypot(u_place_mm(0), u_place_mm(last)), 2).put(length, &out.length_budget);
    for (ProfileSegment& s : out.segments) {
      s.from_mm -= left, s.to_mm -= left;
      if (s.top_mm) *s.top_mm -= left;
    }
    out.segments.front().from_mm = 0, out.segments.back().to_mm = length;
  }

  void notes(SideProfile& out) const {
    for (const ProfileSegment& s : out.segments)
      if (s.u_flank_difference_mm > 0 && std::abs(s.flank_difference_mm) > 4 * s.u_flank_difference_mm &&
          std::abs(s.flank_difference_mm) > 2 * options_.floor_mm) {
        char line[200];
        std::snprintf(
            line, sizeof line,
            "the two flanks differ by %.3f mm at %.2f mm along the axis: run-out there, or the axis is not "
            "square to the view",
            2 * std::abs(s.flank_difference_mm), 0.5 * (s.from_mm + s.to_mm));
        out.warnings.push_back({WarningCode::kFlanksDiffer, line});
        break;
      }
    if (out.p_as_cut < 0.9)
      out.warnings.push_back(
          {"cut-undecided", "how many pieces the profile has is not certain: look at it in the drawing"});
    if (meridian_.two_ways) {
      const double angle = deg(wrap_axis_rad(meridian_.axis.angle_rad()));
      char line[200];
      std::snprintf(
          line, sizeof line,
          "the outline is symmetric about two axes; taken: the one that runs at %.0f degrees in the picture "
          "(--axis %.0f takes the other)",
          angle, std::fmod(angle + 90, 180));
      out.warnings.push_back({"axis-two-ways", line});
    }
  }

  const Meridian& meridian_;
  const std::vector<ProfilePointRZ>& points_;
  std::vector<Piece> pieces_;
  const ProfileCutOptions& options_;
  std::vector<Break> breaks_;
  double radius_mm_ = 0, length_mm_ = 0, left_mm_ = 0;
};

}  // namespace

Result<void> take_sizes(const Meridian& meridian, const std::vector<ProfilePointRZ>& points, const Cut& cut,
                        double shared, const ProfileCutOptions& options, SideProfile& out) {
  return Sizes(meridian, points, cut, shared, options).run(out);
}

}  // namespace rondure
