#include "rondure/measure/measure_side.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "rondure/measure/measure_photo.hpp"
#include "rondure/profile/limb.hpp"
#include "side_notes.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement, or was set looking at tests/bench/side_scenes (figures in
// tests/data/studies/side_scenes.txt).
constexpr double kStep_px = 2;           // of the outline's points
constexpr double kErrorFloor_px = 0.02;  // of a point, that does not average out
constexpr double kBowFloor_ratio =
    0.10;  // of it, that bends with a face's bow (tests/bench/side_scenes/study, seeds 1 and 2)
constexpr double kBlurFourth_px4 =
    2.0 /
    120;  // fourth cumulant, less: of a mean over a pixel, and of one over a pixel's width when it was resampled
constexpr int kLimbRounds = 3, kHeightRounds = 2;  // each leaves of the error about radius over distance
constexpr double kOneOfTwo = 0.5;                  // readings of which nothing prefers one
constexpr double kTiny_ratio = 1e-3;               // of the part: a circle that hangs on its edge alone

// What references make of the outline: drawn out by a ratio, its edges moved outwards.
struct Correction {
  double ratio = 1, outwards_mm = 0;
  std::optional<double> u_scale_ratio, u_edge_offset_mm;
};

// How far an edge may be misplaced since its blur is no normal law (the Edgeworth series' first term): the dark side is the
// quieter and rules the fit, two standard deviations out, where He3 = -2.
double blur_form_px(double blur_px) { return 2 * kBlurFourth_px4 / (24 * std::pow(blur_px, 3)); }

std::vector<OutlinePoint> plain_points(const SideOutline& outline, const Correction& correct) {
  std::vector<OutlinePoint> points;
  for (const SideOutlinePoint& p : outline.points)
    points.push_back({correct.ratio * p.point.at.vec() + correct.outwards_mm * p.outward, p.outward,
                      correct.ratio * p.point.sigma_mm});
  return points;
}

double largest_radius_mm(const Meridian& meridian) {
  double most = 0;
  for (const MeridianPoint& m : meridian.points) most = std::max(most, m.point.r_mm);
  return most;
}

struct Unfolded {
  Meridian meridian;
  std::optional<Estimate> tilt_rad;  // of the axis towards the camera; absent where the ends do not tell it
};

// The meridian from an outline seen by a camera at a finite distance: axis, tilt and limb in turns.
Result<Unfolded> unfold(const SideOutline& outline, const std::optional<Eigen::Vector3d>& camera_mm,
                        std::optional<double> axis_deg, const Correction& correct) {
  const std::vector<OutlinePoint> seen = plain_points(outline, correct);
  const double step_mm = kStep_px / outline.px_per_mm;
  auto meridian = fold_outline(seen, step_mm, axis_deg);
  if (!meridian) return meridian.error();
  Unfolded out{std::move(*meridian), {}};
  for (int round = 0; camera_mm && round < kLimbRounds; ++round) {
    out.tilt_rad = tilt_from_faces(seen, out.meridian.axis, *camera_mm, step_mm);
    const double tilt = out.tilt_rad ? out.tilt_rad->value : 0;
    // About the same axis: what is seen from afar was worked out for it.
    const bool two_ways = out.meridian.two_ways;
    const double same_deg = deg(wrap_axis_rad(out.meridian.axis.angle_rad()));
    meridian =
        fold_outline(seen_from_afar(seen, out.meridian.axis, *camera_mm, tilt, step_mm), step_mm, same_deg);
    if (!meridian) return meridian.error();
    meridian->two_ways = two_ways;
    out.meridian = std::move(*meridian);
  }
  return out;
}

// The references' model is of circles: one so small that its edge alone tells, and one as long as the part.
Correction corrected_by(const ReferenceScale& references, const MeasuringPlane& plane,
                        const SideOutline& outline) {
  Eigen::Vector2d lo(1e300, 1e300), hi(-1e300, -1e300);
  for (const SideOutlinePoint& p : outline.points)
    lo = lo.cwiseMin(p.point.at.vec()), hi = hi.cwiseMax(p.point.at.vec());
  RoundEdge edge;
  edge.dark_inside = outline.light_inside < outline.light_outside;
  edge.light_inside = outline.light_inside, edge.light_outside = outline.light_outside;
  edge.blur_px = outline.blur_px, edge.u_edge_offset_mm = outline.u_edge_offset_mm;
  const double size_mm = (hi - lo).maxCoeff(), tiny_mm = kTiny_ratio * size_mm;
  const auto of = [&](double diameter_mm) {
    const Circle circle{PartPoint::from(0.5 * (lo + hi)), 0.5 * diameter_mm};
    return references.apply_to(circle_reading(plane, edge, circle, 0));
  };
  const ReferencedDiameter tiny = of(tiny_mm), whole = of(size_mm);
  Correction out;
  out.ratio = 1 + (whole.shift_mm - tiny.shift_mm) / (size_mm - tiny_mm);
  out.outwards_mm = 0.5 * tiny.shift_mm;
  out.u_edge_offset_mm = 0.5 * tiny.u_mm();
  const double more = std::pow(whole.u_mm(), 2) - std::pow(tiny.u_mm(), 2);
  out.u_scale_ratio = std::sqrt(std::max(0.0, more)) / size_mm;
  return out;
}

class Measuring {
public:
  Measuring(const Picture& picture, MeasuringPlane plane, const SideViewOptions& options)
      : picture_(picture), plane_(std::move(plane)), options_(options) {}

  Result<SideView> run() {
    if (const auto ok = read_references(); !ok) return ok.error();
    if (const auto ok = look(plane_); !ok) return ok.error();
    // The axis lies as high above the board as the part is thick there: solved together, unless it was told.
    for (int round = 0; camera_mm_ && !options_.distance_mm && told_height_ == 0 && round < kHeightRounds;
         ++round) {
      auto raised = at_height(plane_, largest_radius_mm(unfolded_.meridian), 0);
      if (!raised) return raised.error();
      if (const auto ok = look(*raised); !ok) return ok.error();
      if (round + 1 == kHeightRounds) plane_ = std::move(*raised);
    }
    auto profile = cut_profile(unfolded_.meridian, cut_options());
    if (!profile) return profile.error();
    if (const auto ok = axis_is_sure(*profile); !ok) return ok.error();
    note(*profile);
    return SideView{std::move(unfolded_.meridian), unfolded_.tilt_rad, std::move(*profile),
                    std::move(outline_)};
  }

private:
  // Of two axes of symmetry the wrong one makes curved ends of the flanks: then a person has to say.
  Result<void> axis_is_sure(const SideProfile& profile) const {
    if (options_.axis_deg || !unfolded_.meridian.two_ways || profile.length_mm) return {};
    const double angle = std::round(deg(wrap_axis_rad(unfolded_.meridian.axis.angle_rad())));
    char line[240];
    std::snprintf(line, sizeof line,
                  "found an outline symmetric about two axes, and no flat ends along the one that runs at "
                  "%.0f degrees in "
                  "the picture; needed the part's axis: --axis %.0f for the other, --axis %.0f for that one",
                  angle, std::fmod(angle + 90, 180), angle);
    return Error{ErrorCode::kNoAnswer, line};
  }

  Result<void> read_references() {
    auto scale = reference_scale(picture_, plane_, options_.references, options_.edges);
    if (!scale) return scale.error();
    references_ = std::move(*scale);
    if (references_)
      for (const ReferenceReading& r : references_->pieces()) passed_over_.push_back(r.outline_px);
    return {};
  }

  // Outline, camera and meridian with the axis in this plane.
  Result<void> look(const MeasuringPlane& plane) {
    auto outline = find_side_outline(picture_, plane, options_.edges.linear_light, passed_over_);
    if (!outline) return outline.error();
    outline_ = std::move(*outline);
    camera_mm_ = camera_above(plane);
    if (options_.distance_mm)
      camera_mm_ = Eigen::Vector3d(0.5 * plane.width_px / outline_.px_per_mm,
                                   0.5 * plane.height_px / outline_.px_per_mm, *options_.distance_mm);
    if (references_) correct_ = corrected_by(*references_, plane, outline_);
    auto unfolded = unfold(outline_, camera_mm_, options_.axis_deg, correct_);
    if (!unfolded) return unfolded.error();
    unfolded_ = std::move(*unfolded);
    return {};
  }

  ProfileCutOptions cut_options() const {
    const Meridian& meridian = unfolded_.meridian;
    ProfileCutOptions cut;
    cut.blur_mm = outline_.blur_px / outline_.px_per_mm;
    cut.u_edge_offset_mm = correct_.u_edge_offset_mm.value_or(
        std::hypot(outline_.u_edge_offset_mm, blur_form_px(outline_.blur_px) / outline_.px_per_mm));
    cut.floor_mm = kErrorFloor_px / outline_.px_per_mm;
    cut.names = options_.names;
    cut.pixel_mm = 1 / outline_.px_per_mm, cut.axis_in_picture_rad = axis_in_picture_rad();
    // An error of the outline that bends with the bow counts as tilt: some 0.3 R of bow for every radian, over a face.
    if (unfolded_.tilt_rad)
      cut.u_tilt_rad = std::hypot(unfolded_.tilt_rad->u,
                                  kBowFloor_ratio * cut.floor_mm / (0.3 * largest_radius_mm(meridian)));
    const double length_mm = meridian.length_mm;
    const PartPoint middle = PartPoint::from(meridian.axis.origin + 0.5 * length_mm * meridian.axis.along);
    const PlaneUncertainty u = u_from_plane(plane_, {middle, 0.5 * length_mm});
    cut.u_scale_ratio =
        correct_.u_scale_ratio.value_or(std::hypot(u.u_scale_mm, u.u_pose_mm, u.u_height_mm) / length_mm);
    return cut;
  }

  double axis_in_picture_rad() const {
    const MeridianAxis& axis = unfolded_.meridian.axis;
    const auto j = pixel_per_part(plane_, PartPoint::from(axis.origin));
    const Eigen::Vector2d along = j ? Eigen::Vector2d(*j * axis.along) : axis.along;
    return std::atan2(along.y(), along.x());
  }

  void note(SideProfile& profile) const {
    const auto put = [&](const std::vector<Warning>& more) {
      profile.warnings.insert(profile.warnings.end(), more.begin(), more.end());
    };
    put(outline_.warnings), put(plane_.warnings);
    if (references_)
      profile.warnings.push_back(
          {references_->contradicts_board() ? WarningCode("reference-contradicts") : WarningCode("reference"),
           references_->finding(!plane_.outline.empty())});
    if (auto tilted = tilt_note(unfolded_.tilt_rad)) profile.warnings.push_back(std::move(*tilted));
    if (camera_mm_)
      note_unseen(profile);
    else
      profile.warnings.push_back(distance_note(largest_radius_mm(unfolded_.meridian)));
  }

  void note_unseen(SideProfile& profile) const {
    if (!unfolded_.tilt_rad && !profile.length_mm) {
      profile.p_as_cut = std::min(profile.p_as_cut, kOneOfTwo);
      profile.warnings.push_back(tilt_untold_note());
    }
    const MeridianAxis& axis = unfolded_.meridian.axis;
    const Eigen::Vector2d over = camera_mm_->head<2>() - axis.origin;
    const SideCamera camera(
        {axis.along.dot(over) - 0.5 * unfolded_.meridian.length_mm, axis.radial().dot(over), camera_mm_->z()},
        unfolded_.tilt_rad ? unfolded_.tilt_rad->value : 0);
    if (auto hidden = hidden_feet_note(profile, camera, outline_.px_per_mm)) {
      profile.p_as_seen = profile.p_as_cut;
      profile.p_as_cut = std::min(profile.p_as_cut, kOneOfTwo);
      profile.warnings.push_back(std::move(*hidden));
    }
  }

  const Picture& picture_;
  MeasuringPlane plane_;
  const SideViewOptions& options_;
  const double told_height_ = plane_.height_mm;
  std::optional<ReferenceScale> references_;
  std::vector<Circle> passed_over_;
  Correction correct_;
  SideOutline outline_;
  std::optional<Eigen::Vector3d> camera_mm_;
  Unfolded unfolded_;
};

}  // namespace

Result<SideView> measure_side(const Picture& picture, MeasuringPlane plane, const SideViewOptions& options) {
  return Measuring(picture, std::move(plane), options).run();
}

}  // namespace rondure
