#include "piece_kinds.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <utility>

#include "rondure/core/median.hpp"
#include "rondure/core/normal_law.hpp"

namespace rondure {
namespace {

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
    1.2;                               // from one neighbour into the other: may be as long as a broken edge
constexpr double kTangent_rad = 0.25;  // 14 degrees, to one neighbour at least; by judgement
constexpr double kNearTangent_rad = 0.45;  // of a quarter turn: 10 % of the radius
constexpr double kBentShared = 2.25;       // times as many neighbours share an error along a fillet
constexpr double kApart = 4;               // times its u: so far a fillet may miss a line, or cut it
constexpr double kChamferFloor_ratio = 2;  // of the floor, at each end of a chamfer; set on seeds 21 and 1801

// Share of the evidence that a number is nought, read as `value` +- `u`, against one spread evenly over `range` (Bayes).
double share_of_nought(double value, double u, double range) {
  const double nought = normal_density(value / u) / u;
  return nought / (nought + 1 / range);
}

class PieceKinds {
public:
  explicit PieceKinds(CutProfile& cut) : cut_(cut) {}

  NamedPieces run() {
    NamedPieces out;
    for (std::size_t k = 0; k < cut_.pieces.size(); ++k) out.segments.push_back(segment(k));
    settle_kinds(out.segments);
    out.share = share_of_kinds(out.segments);
    join_fillets(out.segments);
    widen_chamfers(out.segments);
    return out;
  }

private:
  ProfileSegment segment(std::size_t k) const {
    ProfileSegment s;
    s.from_mm = cut_.breaks[k].at.x(), s.to_mm = cut_.breaks[k + 1].at.x();
    s.from_radius_mm = cut_.breaks[k].at.y(), s.to_radius_mm = cut_.breaks[k + 1].at.y();
    const ProfileCurve& c = cut_.pieces[k].curve;
    s.rms_mm = rms(cut_.pieces[k]);
    if (c.is_arc && is_flat_face(k)) {
      s.kind = SegmentKind::kFace;
      return s;
    }
    if (c.is_arc) {
      s.kind = SegmentKind::kArc;
      const Eigen::Vector2d middle = c.foot(0.5 * (cut_.breaks[k].at + cut_.breaks[k + 1].at));
      s.concave = c.center().y() > middle.y();
      return s;
    }
    const double slope = slope_rad(c), steep = std::abs(slope);
    if (0.5 * kPi - steep < std::max(kFaceWithin_rad, kSlopeTold * cut_.u_slope_rad(k)))
      s.kind = SegmentKind::kFace;
    else
      s.kind = share_of_cylinder(k) > 0.5 ? SegmentKind::kCylinder : SegmentKind::kTaper;
    return s;
  }

  // Against tapers of any slope up to a chamfer's, either way.
  double share_of_cylinder(std::size_t k) const {
    const ProfileCurve& c = cut_.pieces[k].curve;
    return share_of_nought(slope_rad(c), std::hypot(cut_.u_slope_rad(k), cut_.u_straight_rad(k)),
                           2 * kChamferFrom_rad);
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
    const ProfileCurve& c = cut_.pieces[k].curve;
    const double chord = cut_.carried_mm(k);
    const auto is_square = [&](std::size_t b) {
      return turn_between(run_rad(c, cut_.breaks[b].at), 0.5 * kPi) < kFaceWithin_rad;
    };
    return chord * chord / (8 * c.radius_mm()) < kFlatBow_floors * cut_.options.floor_mm && is_square(k) &&
           is_square(k + 1);
  }

  // Chamfers and fillets: short, between two others.
  void settle_kinds(std::vector<ProfileSegment>& all) {
    const double is_short = kShort_ratio * std::max(cut_.radius_mm, cut_.length_mm);
    for (std::size_t k = 1; k + 1 < all.size(); ++k) {
      ProfileSegment& s = all[k];
      const ProfileCurve& c = cut_.pieces[k].curve;
      if (s.kind == SegmentKind::kTaper) {
        const double steep = std::abs(slope_rad(c));
        const bool breaks_edge =
            (all[k - 1].kind == SegmentKind::kFace) != (all[k + 1].kind == SegmentKind::kFace);
        if (steep > kChamferFrom_rad && steep < kChamferTo_rad &&
            cut_.chord_mm(k) < (breaks_edge ? kBrokenEdge_ratio / kShort_ratio : 1) * is_short)
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
          cut_.pieces[k].curve.covariance *= kBentShared;
        }
      }
    }
  }

  double turn_rad(std::size_t k) const {
    return 2 * std::asin(std::min(1.0, 0.5 * cut_.chord_mm(k) / cut_.pieces[k].curve.radius_mm()));
  }
  // Between the runs of a piece and a neighbour where they meet.
  double turn_at(std::size_t k, std::size_t other) const {
    const Eigen::Vector2d& at = cut_.breaks[std::max(k, other)].at;
    return turn_between(run_rad(cut_.pieces[other].curve, at), run_rad(cut_.pieces[k].curve, at));
  }

  // An arc that leads from a face into a surface, of whatever size: a fillet where it is tangent to both, else a crown or
  // a groove.
  bool is_rounding(const std::vector<ProfileSegment>& all, std::size_t k) const {
    const bool is_arc = all[k].kind == SegmentKind::kArc || all[k].kind == SegmentKind::kFillet;
    if (!is_arc || k == 0 || k + 1 == all.size()) return false;
    const SegmentKind before = all[k - 1].kind, after = all[k + 1].kind;
    return (before == SegmentKind::kFace) != (after == SegmentKind::kFace) &&
           !cut_.pieces[k - 1].curve.is_arc && !cut_.pieces[k + 1].curve.is_arc &&
           most_turn_rad(k) > kQuarterTurn_rad;
  }

  // With what the gaps beside it may hide: beside its face a fillet tells no radius, and its points there are none.
  double most_turn_rad(std::size_t k) const {
    return turn_rad(k) +
           0.5 * (cut_.breaks[k].gap_mm + cut_.breaks[k + 1].gap_mm) / cut_.pieces[k].curve.radius_mm();
  }

  double share_of_fillet(std::size_t k) const {
    double odds = 1;  // tangent at both ends, against at neither
    for (const std::size_t other : {k - 1, k + 1}) {
      const auto [apart, u] = apart_mm(k, other);
      odds *= normal_density(apart / u) / u * 2 * cut_.pieces[k].curve.radius_mm();
    }
    return odds / (1 + odds);
  }

  // How far an arc misses a line (or, negative, cuts it) and the standard uncertainty of that.
  std::pair<double, double> apart_mm(std::size_t k, std::size_t other) const {
    const ProfileCurve &arc = cut_.pieces[k].curve, &line = cut_.pieces[other].curve;
    const double off = line.distance_mm(arc.center());
    const Eigen::Vector2d at = arc.center() - off * line.normal();
    return {std::abs(off) - arc.radius_mm(),
            std::hypot(u_across(arc, arc.foot(at)), u_across(line, at), cut_.fillet_floor_mm())};
  }

  // A fillet runs into a straight neighbour where the neighbour is nearest to its centre; where they cross at a narrow
  // angle tells next to nothing.
  void join_fillets(std::vector<ProfileSegment>& all) {
    for (std::size_t k = 1; k + 1 < all.size(); ++k) {
      if (all[k].kind != SegmentKind::kFillet) continue;
      for (const std::size_t other : {k - 1, k + 1}) {
        const ProfileCurve &arc = cut_.pieces[k].curve, &line = cut_.pieces[other].curve;
        if (line.is_arc) continue;
        const auto [apart, u_apart] = apart_mm(k, other);
        if (std::abs(apart) > kApart * u_apart) continue;
        const Eigen::Vector2d at = arc.center() - line.distance_mm(arc.center()) * line.normal();
        const Eigen::Vector2d along(line.normal().y(), -line.normal().x());
        const double u = std::hypot(u_center(arc, along), cut_.fillet_floor_mm());
        cut_.breaks[std::max(k, other)] = {at, u * std::abs(along.x()), u * std::abs(along.y())};
        ProfileSegment &left = all[std::min(k, other)], &right = all[std::max(k, other)];
        left.to_mm = right.from_mm = at.x(), left.to_radius_mm = right.from_radius_mm = at.y();
      }
    }
  }

  // A few points between two corners: what the corners' blur leaves in them does not average out.
  void widen_chamfers(const std::vector<ProfileSegment>& all) {
    for (std::size_t k = 0; k < all.size(); ++k)
      if (all[k].kind == SegmentKind::kChamfer)
        for (Break* end : {&cut_.breaks[k], &cut_.breaks[k + 1]})
          end->u_z_mm = std::hypot(end->u_z_mm, kChamferFloor_ratio * cut_.options.floor_mm);
  }

  double rms(const Piece& p) const {
    std::vector<double> d;
    for (int i = p.from; i <= p.to; ++i) d.push_back(std::abs(p.curve.distance_mm(cut_.points[i].vec())));
    return 1.4826 * median(d);
  }

  CutProfile& cut_;
};

}  // namespace

NamedPieces name_kinds(CutProfile& cut) { return PieceKinds(cut).run(); }

}  // namespace rondure
