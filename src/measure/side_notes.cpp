#include "side_notes.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace rondure {
namespace {

constexpr double kUsualDistance_mm = 300;  // of a close picture, for the note's example; by judgement
constexpr double kHiddenBlurs = 3;         // less is rounded off by the picture anyway
constexpr double kShortestPiece_px = 12;   // side_profile.hpp

template <class... Values>
std::string words(const char* format, Values... values) {
  char buffer[240];
  std::snprintf(buffer, sizeof buffer, format, values...);
  return buffer;
}

}  // namespace

std::optional<Warning> tilt_note(const std::optional<Estimate>& tilt_rad) {
  if (!tilt_rad || std::abs(tilt_rad->value) < std::max(rad(0.2), 3 * tilt_rad->u)) return std::nullopt;
  return Warning{"axis-tilted",
                 words("the axis is tilted by %.2f deg, %s end towards the camera: allowed for",
                       deg(std::abs(tilt_rad->value)), tilt_rad->value > 0 ? "right" : "left")};
}

Warning distance_note(double largest_radius_mm) {
  return {
      "distance-unknown",
      words("taken as seen from far away: from %.0f mm diameters would read %.4f mm too large and ends would "
            "bow; tell how far the camera stood from the axis with --distance",
            kUsualDistance_mm, largest_radius_mm * std::pow(largest_radius_mm / kUsualDistance_mm, 2))};
}

Warning tilt_untold_note() {
  return {
      "cut-undecided",
      "the ends are no flat faces, so that nothing tells whether the axis is tilted: taken as square to the "
      "view; of a tilted part what reads as curved faces may be flat"};
}

std::optional<Warning> hidden_feet_note(const SideProfile& profile, const SideCamera& camera,
                                        double px_per_mm) {
  std::string places;
  double most_mm = 0;
  const double middle_mm = profile.segments.empty() ? 0 : 0.5 * profile.segments.back().to_mm;
  for (std::size_t k = 1; k + 1 < profile.segments.size(); ++k) {
    const ProfileSegment& face = profile.segments[k];
    if (face.kind != SegmentKind::kFace) continue;
    const bool foot_left = face.from_radius_mm < face.to_radius_mm;
    const SegmentKind beside = profile.segments[foot_left ? k - 1 : k + 1].kind;
    if (beside == SegmentKind::kFillet || beside == SegmentKind::kChamfer) continue;
    const double foot = std::min(face.from_radius_mm, face.to_radius_mm),
                 rim = std::max(face.from_radius_mm, face.to_radius_mm),
                 place = foot_left ? face.from_mm : face.to_mm;
    const Eigen::Vector3d sight = camera.turned(Eigen::Vector3d(place - middle_mm, 0, 0) - camera.at_mm());
    const double hidden_mm = std::abs(sight.x() / sight.z()) * std::sqrt(rim * rim - foot * foot);
    if (hidden_mm < kHiddenBlurs * profile.blur_mm) continue;
    places += words(places.empty() ? "%.2f" : ", %.2f", place);
    most_mm = std::max(most_mm, hidden_mm + kShortestPiece_px / px_per_mm);
  }
  if (places.empty()) return std::nullopt;
  return Warning{"cut-undecided", "the rim of a step hides its foot at " + places +
                                      words(" mm: a fillet there below %.2f mm is not seen", most_mm)};
}

}  // namespace rondure
