#include "photo/solid/ring_roles.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Where no reason stands: as ring_roles.hpp says of its limits.
constexpr double kEccentricity_mm = 0.05;  // standard deviation, for what the axis tells of a height
constexpr double kBrokenRing_mm = 0.95;    // so near the outside, at the face's height: its chamfer or fillet
constexpr double kFaceLike = 0.20, kFaceFloor = 0.002;  // |ln| of light against the face's
constexpr double kFootPlace_mm = 1.5;  // beside a dark wall and its shade an edge's height is told so well
// Of the hub's radius: its foot is seen no farther out; a rim farther out than kHoleBeyondHub_ratio may hold it in
// its hole. By judgement.
constexpr double kFootBeyondHub_ratio = 0.25, kHoleBeyondHub_ratio = 0.6;
constexpr double kWidestHubBreak_mm = 0.35;  // in the radius: farther out begins the shade beside the hub
// Of the heights' standard uncertainties: a break's two lines agree so well; the share of the rays its outer
// line has.
constexpr double kLineOfBreakInU = 2, kLeastLineCover = 0.55;
// The scenes' lowest (choose.py): two walls whose heights differ by less, so many standard uncertainties included,
// are a groove's.
constexpr double kLowestHub_mm = 0.4, kTellsHubInU = 2;
constexpr double kHalfLit =
    0.5;  // of a hub's rim: the flange beside it may be in the light over half the turn
constexpr double kWallsOffAxis_mm = 0.01;  // of a groove's two walls, turned or moulded in one

bool is_lower(const InnerRing& a, const InnerRing& than) {
  return a.height_mm <
         than.height_mm - std::max(kSameHeight_mm, 3 * std::hypot(a.u_height_mm, than.u_height_mm));
}

bool is_brighter_within(const InnerRing& ring) { return ring.dark_inside_share < 1 - kOneSign; }

}  // namespace

RingRoles::RingRoles(const CameraPlace& camera, const PartSeen& part, double face_light,
                     std::vector<InnerRing> rings)
    : camera_(camera), part_(part), face_light_(face_light), rings_(std::move(rings)) {
  for (const InnerRing& ring : rings_) sides_.push_back(sides_of(ring));
}

bool RingRoles::is_face(double light) const {
  return std::abs(std::log((std::max(light, 0.0) + kFaceFloor) / (face_light_ + kFaceFloor))) < kFaceLike;
}

Sides RingRoles::sides_of(const InnerRing& ring) const {
  Sides s;
  for (const RingEdge& e : ring.edges)
    s.face_outside += is_face(e.edge->outside), s.face_inside += is_face(e.edge->inside);
  const double count = std::max<double>(1, static_cast<double>(ring.edges.size()));
  s.face_outside /= count, s.face_inside /= count;
  return s;
}

double RingRoles::u_height(const InnerRing& ring) const {
  return std::min(2.0, std::hypot(ring.u_height_mm, kEccentricity_mm * camera_.height_mm /
                                                        std::max((part_.center - camera_.foot).norm(), 1.0)));
}

bool RingRoles::at_face(const InnerRing& ring) const {
  return std::abs(ring.height_mm - part_.face_mm) <
         std::max(kSameHeight_mm, 2 * std::hypot(ring.u_height_mm, part_.u_face_mm));
}

// Half a line so near the outside is its broken edge's, whatever height its half tells.
bool RingRoles::is_broken_edge(const InnerRing& ring) const {
  return ring.radius_mm > part_.radius_mm - kBrokenRing_mm && ring.radius_mm > 0.6 * part_.radius_mm &&
         (ring.cover < kLeastBoreCover ||
          ring.height_mm < part_.face_mm + std::max(kHubStands_mm, 2.5 * ring.u_height_mm));
}

bool RingRoles::is_hub(std::size_t i) const {
  const InnerRing& ring = rings_[i];
  if (is_broken_edge(ring) || is_in_a_hole(i)) return false;
  if (stands(ring) && is_lit_within(i) && (is_brighter_within(ring) || holds_dark_rim(i))) return true;
  if (!sides_[i].holds_face() && !holds_face_in_side_light(i)) return false;
  if (pairs_as_groove(i)) return stands(ring);
  return ring.u_height_mm > kNoHeight_mm ||
         ring.height_mm - part_.face_mm >
             std::max(kHubStands_mm, 1.5 * std::hypot(ring.u_height_mm, part_.u_face_mm));
}

bool RingRoles::holds_face_in_side_light(std::size_t i) const {
  return sides_[i].face_inside > kMostShare && sides_[i].face_outside < kHalfLit &&
         rings_[i].cover > kLeastBoreCover && is_brighter_within(rings_[i]);
}

bool RingRoles::stands(const InnerRing& ring) const {
  const double above_mm = ring.height_mm - part_.face_mm, u_mm = std::hypot(u_height(ring), part_.u_face_mm),
               most_rms_px = above_mm > kClearlyInU * u_mm ? kMostRingRms_px : kMostHigherRms_px;
  return ring.rms_px < most_rms_px && above_mm > std::max(kUnseenHub_mm, kUnseenHubInU * u_mm);
}

bool RingRoles::is_in_a_hole(std::size_t i) const {
  for (std::size_t o = 0; o < i; ++o)
    if (sides_[o].is_rim() && rings_[o].cover > kWholeRim && at_face(rings_[o]) &&
        !is_broken_edge(rings_[o]) && rings_[o].radius_mm > (1 + kHoleBeyondHub_ratio) * rings_[i].radius_mm)
      return !sides_[i].holds_face();
  return false;
}

const InnerRing* RingRoles::outer_line_of(std::size_t hub) const {
  const InnerRing& rim = rings_[hub];
  for (std::size_t o = hub; o-- > 0;) {
    const InnerRing& line = rings_[o];
    const double break_mm = line.radius_mm - rim.radius_mm, at_mm = rim.height_mm - break_mm,
                 off_mm = std::abs(line.height_mm - at_mm);
    if (break_mm > kWidestHubBreak_mm) break;
    if (break_mm > kLeastBreak_mm && line.cover > kLeastLineCover && line.rms_px <= kMostHigherRms_px &&
        off_mm < std::max(kSameHeight_mm, kLineOfBreakInU * std::hypot(line.u_height_mm, rim.u_height_mm)) &&
        off_mm < std::abs(line.height_mm - part_.face_mm))
      return &line;
  }
  return nullptr;
}

bool RingRoles::are_as_high(std::size_t outer, std::size_t inner) const {
  const InnerRing &o = rings_[outer], &i = rings_[inner];
  const double u_off_axis = kWallsOffAxis_mm / kEccentricity_mm * u_height({}),
               u = std::hypot(o.u_height_on_axis_mm, i.u_height_on_axis_mm, u_off_axis);
  return i.height_mm - o.height_mm + kTellsHubInU * u < kLowestHub_mm;
}

bool RingRoles::holds_some_face(std::size_t i) const {
  const InnerRing& ring = rings_[i];
  return !is_broken_edge(ring) && !is_in_a_hole(i) && ring.cover > kWholeRim &&
         ring.rms_px < kMostRingRms_px && sides_[i].face_inside > kMostShare &&
         ring.dark_inside_share < 1 - kOneSign;
}

bool RingRoles::is_lit_within(std::size_t i) const {
  return rings_[i].cover > kWholeRim &&
         (is_brighter_within(rings_[i]) ||
          (sides_[i].face_inside > kMostShare && rings_[i].dark_inside_share < kOneSign));
}

bool RingRoles::holds_dark_rim(std::size_t i) const {
  return std::any_of(
      rings_.begin() + static_cast<std::ptrdiff_t>(i) + 1, rings_.end(), [&](const InnerRing& within) {
        return within.cover > kWholeRim && within.dark_inside_share > kOneSign &&
               within.radius_mm < rings_[i].radius_mm - kMostBreak_mm && !is_lower(within, rings_[i]);
      });
}

bool RingRoles::pairs_as_groove(std::size_t i) const {
  for (std::size_t o = 0; o < i; ++o)
    if (sides_[o].is_rim() && rings_[o].cover > kWholeRim && rings_[o].rms_px < kMostRingRms_px &&
        !is_lower(rings_[o], rings_[i]) &&
        rings_[i].radius_mm > (1 - kGrooveWidth_ratio) * rings_[o].radius_mm)
      return true;
  return false;
}

bool RingRoles::is_bore(std::size_t i) const {
  const InnerRing& ring = rings_[i];
  if (is_broken_edge(ring) || !sides_[i].is_rim() || ring.cover < kLeastBoreCover || is_hub(i)) return false;
  for (std::size_t k = i + 1; k < rings_.size(); ++k)
    if ((sides_[k].holds_face() || (sides_[k].face_inside > kMostShare && is_lit_within(k))) &&
        rings_[k].radius_mm > ring.radius_mm / (1 + kFootBeyondHub_ratio) &&
        rings_[k].height_mm + 2 * rings_[k].u_height_mm > part_.face_mm - kSameHeight_mm)
      return false;
  if (holds_as_high_a_rim(i) || holds_a_higher_rim(i)) return false;
  return ring.rms_px < kMostRingRms_px || ring.dark_inside_share > kOneSign;
}

bool RingRoles::holds_as_high_a_rim(std::size_t i) const {
  if (is_brighter_within(rings_[i]) && holds_dark_rim(i)) return true;
  for (std::size_t k = i + 1; k < rings_.size(); ++k)
    if (stands(rings_[k]) && is_lit_within(k) && !is_lower(rings_[k], rings_[i]) &&
        rings_[k].radius_mm < rings_[i].radius_mm - kLeastBreak_mm)
      return true;
  return false;
}

bool RingRoles::holds_a_higher_rim(std::size_t i) const {
  for (std::size_t k = i + 1; k < rings_.size(); ++k)
    if (sides_[k].is_rim() && rings_[k].cover > kWholeRim && rings_[k].support > rings_[i].support &&
        is_lower(rings_[i], rings_[k]))
      return true;
  return false;
}

bool RingRoles::is_foot_of(std::size_t hub, std::size_t i) const {
  const InnerRing& ring = rings_[i];
  return sides_[i].is_rim() && ring.rms_px < kMostRingRms_px &&
         ring.radius_mm < (1 + kFootBeyondHub_ratio) * rings_[hub].radius_mm &&
         std::abs(ring.height_mm - part_.face_mm) < kFootPlace_mm + 2 * ring.u_height_mm;
}

void RingRoles::see_by_face_of(std::size_t hub) {
  std::vector<double> lights;
  for (const RingEdge& e : rings_[hub].edges) lights.push_back(e.edge->inside);
  face_light_ = median(lights);
  for (std::size_t i = hub + 1; i < rings_.size(); ++i) sides_[i] = sides_of(rings_[i]);
}

}  // namespace rondure
