#include "sizes_of_pieces.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <utility>

#include "piece_kinds.hpp"
#include "rondure/core/median.hpp"
#include "rondure/core/normal_law.hpp"
#include "rondure/core/warning.hpp"

namespace rondure {
namespace {

constexpr std::size_t kDrawnPoints = 600;  // kept for the record and its drawings; by judgement
// Of a point's error that does not average out, what is left in a mean over a piece, and in the sagitta of an arc. Set by
// tests/bench/side_scenes/study on seeds 1, 2 and 13 of draw_parts.
constexpr double kMeanFloor_ratio = 0.24, kBendFloor_ratio = 0.2;
constexpr double kBreakFloor_ratio = 0.42;  // of the floor, where two pieces meet along the axis
constexpr double kSharpReach = 3;           // of a broken edge, to the corner it would have

class Sizes {
public:
  explicit Sizes(CutProfile& cut) : cut_(cut) {}

  Result<void> run(SideProfile& out) {
    NamedPieces named = name_kinds(cut_);
    out.segments = std::move(named.segments);
    out.p_as_cut *= named.share;
    for (std::size_t k = 0; k < cut_.pieces.size(); ++k) measure(k, out);
    whole_length(out);
    notes(out);
    const std::size_t every = 1 + cut_.points.size() / kDrawnPoints;
    for (std::size_t i = 0; i < cut_.points.size(); i += every)
      out.points.push_back(cut_.points[i].vec() - Eigen::Vector2d(left_mm_, 0));
    return {};
  }

private:
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
            edges * cut_.options.u_edge_offset_mm, std::abs(value_mm) * cut_.options.u_scale_ratio};
  }
  // Along the axis: a tilt moves a face by its rim's radius times the mean of sqrt(1 - (y/R)^2) over what is used of it.
  Parts width_parts(double value_mm, double noise_mm, double edges) const {
    Parts p = parts(value_mm, noise_mm, edges);
    p.tilt_mm = 0.85 * std::max(1.0, edges) * cut_.radius_mm * cut_.options.u_tilt_rad;
    return p;
  }
  // The floor again, of a mean over a piece: errors of the lens and of compression run on for some way.
  double floor_of_mean() const { return kMeanFloor_ratio * cut_.options.floor_mm; }

  // Which way an end of a width moves when every edge moves outwards: +1 right, -1 left.
  double outwards(std::size_t k) const {
    const Eigen::Vector2d d = cut_.breaks[k + 1].at - cut_.breaks[k].at;
    return d.y() > 0 ? -1 : 1;  // a face that rises looks left
  }
  // Edges' share in where break b lies along the axis.
  double edge_share(std::size_t b) const {
    for (const std::size_t k : {b - 1, b})
      if (k < cut_.pieces.size() && !cut_.pieces[k].curve.is_arc &&
          0.5 * kPi - std::abs(slope_rad(cut_.pieces[k].curve)) < kFaceWithin_rad)
        return outwards(k);
    return 0;
  }

  void measure(std::size_t k, SideProfile& out) {
    ProfileSegment& s = out.segments[k];
    const ProfileCurve& c = cut_.pieces[k].curve;
    flank_difference(k, s);
    if (s.kind == SegmentKind::kFace) return;
    const double edges = std::abs(edge_share(k + 1) - edge_share(k));
    const double width = s.to_mm - s.from_mm;
    const double u_ends = std::hypot(cut_.breaks[k].u_z_mm, cut_.breaks[k + 1].u_z_mm,
                                     kBreakFloor_ratio * cut_.options.floor_mm);
    s.width_mm = width_parts(width, u_ends, edges).put(width, &s.budget);
    sharp_width(k, out);
    const auto diameter = [&](double radius, double u_radius) {
      return parts(2 * radius, 2 * u_radius, 2).put(2 * radius, &s.budget);
    };
    if (s.kind == SegmentKind::kCylinder) {
      const double r = mean_radius(cut_.pieces[k]);
      s.diameter_mm = diameter(r, cut_.u_place_mm(k));
      s.from_radius_mm = s.to_radius_mm = r;
    } else if (s.kind == SegmentKind::kTaper || s.kind == SegmentKind::kChamfer) {
      const double angle = deg(std::abs(slope_rad(c)));
      s.angle_deg = Estimate{angle, deg(std::hypot(cut_.u_slope_rad(k), cut_.u_straight_rad(k)))};
      if (s.kind == SegmentKind::kTaper) {
        s.end_diameter_mm = diameter(s.to_radius_mm, u_across(c, cut_.breaks[k + 1].at));
        s.diameter_mm = diameter(s.from_radius_mm, u_across(c, cut_.breaks[k].at));
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
    const std::size_t last = cut_.pieces.size() - 1;
    if (is_edge(k) || k == 0 || k == last || !(is_edge(k - 1) || is_edge(k + 1))) return;
    Break ends[2] = {cut_.breaks[k], cut_.breaks[k + 1]};
    double edges[2] = {edge_share(k), edge_share(k + 1)};
    for (const int side : {0, 1}) {
      const std::size_t edge = side == 0 ? k - 1 : k + 1;
      if (!is_edge(edge)) continue;
      if (edge == 0 || edge == last) return;
      const std::size_t beyond = side == 0 ? edge - 1 : edge + 1;
      const ProfileCurve& c = cut_.pieces[beyond].curve;
      const auto met =
          c.is_arc ? std::nullopt
                   : meeting(cut_.pieces[k].curve, c, ends[side].at, kSharpReach * cut_.chord_mm(edge));
      if (!met) return;
      ends[side].at = *met, cut_.at_corner(k, beyond, ends[side]);
      edges[side] = 0.5 * kPi - std::abs(slope_rad(c)) < kFaceWithin_rad ? outwards(beyond) : 0;
    }
    const double width = ends[1].at.x() - ends[0].at.x();
    const double u = std::hypot(ends[0].u_z_mm, ends[1].u_z_mm, kBreakFloor_ratio * cut_.options.floor_mm);
    if (width > 0)
      out.segments[k].sharp_width_mm =
          width_parts(width, u, std::abs(edges[1] - edges[0])).put(width, nullptr);
  }

  void measure_arc(std::size_t k, ProfileSegment& s) {
    const ProfileCurve& c = cut_.pieces[k].curve;
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
      s.diameter_mm = parts(2 * top, 2 * std::max(cut_.breaks[k].u_r_mm, cut_.breaks[k + 1].u_r_mm), 2)
                          .put(2 * top, nullptr);
    }
    // Curvature carries the uncertainty: from the points, and from a floor of errors that bend with the arc.
    const double chord = cut_.carried_mm(k);
    const double u_bend_mm = kBendFloor_ratio * cut_.options.floor_mm;  // of the sagitta
    const double kappa = 1 / c.radius_mm(), u_noise = 2 * std::sqrt(std::max(0.0, c.covariance(0, 0))),
                 u_floor = 8 * u_bend_mm / (chord * chord), u_kappa = std::hypot(u_noise, u_floor);
    const double r = c.radius_mm(), u_edge = cut_.options.u_edge_offset_mm,
                 u_scale = r * cut_.options.u_scale_ratio;
    const double u_points = s.kind == SegmentKind::kFillet
                                ? std::hypot(r * r * u_kappa, cut_.fillet_floor_mm())
                                : r * r * u_kappa;
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
      const double w = 1 / (cut_.points[i].sigma_mm * cut_.points[i].sigma_mm);
      const double off = std::abs(p.curve.distance_mm(cut_.points[i].vec())) / cut_.points[i].sigma_mm;
      const double robust = off < 4 ? 1 : 4 / off;
      sum += w * robust * cut_.points[i].r_mm, weight += w * robust;
    }
    return sum / weight;
  }

  void flank_difference(std::size_t k, ProfileSegment& s) const {
    if (const auto half = cut_.half_difference(k))
      s.flank_difference_mm = half->value, s.u_flank_difference_mm = half->u;
  }

  void whole_length(SideProfile& out) {
    const std::size_t last = cut_.pieces.size() - 1;
    const auto is_end = [&](std::size_t k) { return out.segments[k].kind == SegmentKind::kFace; };
    if (!is_end(0) || !is_end(last)) {
      out.warnings.push_back(
          {"no-end-face", "an end of the part is no flat face: its whole width is not given"});
      return;
    }
    const auto place = [&](std::size_t k) {
      double sum = 0, weight = 0;
      for (int i = cut_.pieces[k].from; i <= cut_.pieces[k].to; ++i) sum += cut_.points[i].z_mm, weight += 1;
      return sum / weight;
    };
    const double left = left_mm_ = place(0), length = place(last) - left;
    out.length_mm = width_parts(length, std::hypot(cut_.u_place_mm(0), cut_.u_place_mm(last)), 2)
                        .put(length, &out.length_budget);
    for (ProfileSegment& s : out.segments) {
      s.from_mm -= left, s.to_mm -= left;
      if (s.top_mm) *s.top_mm -= left;
    }
    out.segments.front().from_mm = 0, out.segments.back().to_mm = length;
  }

  void notes(SideProfile& out) const {
    for (const ProfileSegment& s : out.segments)
      if (s.u_flank_difference_mm > 0 && std::abs(s.flank_difference_mm) > 4 * s.u_flank_difference_mm &&
          std::abs(s.flank_difference_mm) > 2 * cut_.options.floor_mm) {
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
    if (cut_.meridian.two_ways) {
      const double angle = deg(wrap_axis_rad(cut_.meridian.axis.angle_rad()));
      char line[200];
      std::snprintf(
          line, sizeof line,
          "the outline is symmetric about two axes; taken: the one that runs at %.0f degrees in the picture "
          "(--axis %.0f takes the other)",
          angle, std::fmod(angle + 90, 180));
      out.warnings.push_back({"axis-two-ways", line});
    }
  }

  CutProfile& cut_;
  double left_mm_ = 0;
};

}  // namespace

Result<void> take_sizes(const Meridian& meridian, const std::vector<ProfilePointRZ>& points, const Cut& cut,
                        double shared, const ProfileCutOptions& options, SideProfile& out) {
  CutProfile profile(meridian, points, cut, shared, options);
  return Sizes(profile).run(out);
}

}  // namespace rondure
