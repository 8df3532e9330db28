#include "rondure/profile/side_profile.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "naming.hpp"
#include "pieces.hpp"
#include "sizes_of_pieces.hpp"

namespace rondure {
namespace {

constexpr double kMargin_blurs = 3;  // about a break: what blur rounds off

// The points with the uncertainty they show themselves: noise of the flanks' difference, and a floor.
std::vector<ProfilePointRZ> weighted(const Meridian& meridian, const ProfileCutOptions& options) {
  std::vector<ProfilePointRZ> points;
  for (const MeridianPoint& m : meridian.points) {
    ProfilePointRZ p = m.point;
    p.sigma_mm = std::hypot(std::max(p.sigma_mm, meridian.noise_mm), options.floor_mm);
    if (!(p.sigma_mm > 0)) p.sigma_mm = 1e-6;
    points.push_back(p);
  }
  return points;
}

}  // namespace

const char* segment_word(SegmentKind kind) {
  switch (kind) {
    case SegmentKind::kFace:
      return "face";
    case SegmentKind::kCylinder:
      return "cylinder";
    case SegmentKind::kTaper:
      return "taper";
    case SegmentKind::kArc:
      return "arc";
    case SegmentKind::kChamfer:
      return "chamfer";
    case SegmentKind::kFillet:
      return "fillet";
  }
  return "";
}

std::optional<SegmentKind> parse_segment_word(const std::string& word) {
  for (const SegmentKind kind : {SegmentKind::kFace, SegmentKind::kCylinder, SegmentKind::kTaper,
                                 SegmentKind::kArc, SegmentKind::kChamfer, SegmentKind::kFillet})
    if (word == segment_word(kind)) return kind;
  return std::nullopt;
}

Result<SideProfile> cut_profile(const Meridian& meridian, const ProfileCutOptions& options) {
  const std::vector<ProfilePointRZ> points = weighted(meridian, options);
  if (static_cast<int>(points.size()) < options.least_points)
    return Error{ErrorCode::kTooFewPoints, "found too few points of a profile"};
  const Cut cut =
      cut_into_pieces(points, kMargin_blurs * options.blur_mm, options.shared_points, options.sigma_freedom);
  if (static_cast<int>(cut.pieces.size()) < options.least_pieces)
    return Error{ErrorCode::kNoAnswer,
                 "found an outline without two ends and a surface between them, needed a part "
                 "of revolution on its side"};
  SideProfile out;
  out.p_as_cut = cut.p_as_cut, out.blur_mm = options.blur_mm;
  if (const auto ok = take_sizes(meridian, points, cut, options.shared_points, options, out); !ok)
    return ok.error();
  if (const auto ok = name_segments(options.names, out); !ok) return ok.error();
  return out;
}

}  // namespace rondure
