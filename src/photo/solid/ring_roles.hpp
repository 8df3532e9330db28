// What each ring on the top of a solid round part may be: a hub's rim, a bore's, a groove's, the outside's broken edge.
//
// Told by height, by the light on both sides against the top face's, and by what lies within: see inner_edges.hpp.
#pragma once
#include <vector>

#include "photo/solid/inner_rings.hpp"

namespace rondure {

struct PartSeen {
  Eigen::Vector2d center = Eigen::Vector2d::Zero();
  double radius_mm = 0;
  double face_mm = 0, u_face_mm = 0;  // height of the top face
  bool height_told = false;
};

// Limits of rings: set looking at seeds 1 and 2 of tests/bench/solid_scenes, later with seeds 3, 4, 5, 8 and 9 worked
// on; where no reason stands, by judgement; checked on seeds 14, 16, 33 to 35 (tests/data/studies/solid_scenes.txt).
// Root mean square of the misses, px: of a ring, and of one that stands above the face; share of the edges that are
// dark (or bright) within, of a ring of one sign.
inline constexpr double kMostRingRms_px = 0.62, kMostHigherRms_px = 0.45, kOneSign = 0.85;
// A ring's place that tells its height no better than this does not tell it.
inline constexpr double kNoHeight_mm = 1.5;
// A hub stands so far above the face at least (the scenes': 0.4, choose.py); rings as near in height are of one
// height; a hub whose own rim is not seen is believed from so high on, and from so many standard uncertainties.
inline constexpr double kHubStands_mm = 0.3, kSameHeight_mm = 0.25, kUnseenHub_mm = 0.5, kUnseenHubInU = 3;
// So many standard uncertainties above the face a ring of a scattered line stands too.
inline constexpr double kClearlyInU = 5;
// Share of the rays of a rim that is a bore's, and of one that is whole; a groove is narrower than so much of its
// outer radius (the scenes': up to 0.29, choose.py).
inline constexpr double kLeastBoreCover = 0.55, kWholeRim = 0.75, kGrooveWidth_ratio = 0.4;
// Narrower than a pixel of the scenes (0.07 to 0.1 mm) it is not seen; wider than any chamfer of theirs (0.6, the
// outside's) it is another edge.
inline constexpr double kLeastBreak_mm = 0.08, kMostBreak_mm = 0.6;  // of a bore's rim, in the radius

// Of a ring's edges: a line has the face on both sides for more than kMostShare of them; a rim outside alone, for
// more than kRimShare; what holds a face has it inside, and outside for less than kHubShare.
inline constexpr double kMostShare = 0.6, kRimShare = 0.5, kHubShare = 0.4;
// Of a ring's edges, how many have the face's light outside, inside.
struct Sides {
  double face_outside = 0, face_inside = 0;
  bool is_rim() const { return face_outside > kRimShare && face_inside < kMostShare; }
  bool holds_face() const { return face_inside > kMostShare && face_outside < kHubShare; }
  bool is_line() const { return face_inside > kMostShare && face_outside > kMostShare; }
};

class RingRoles {
public:
  // `rings`: the largest first. `face_light`: of the top face, near the outside.
  RingRoles(const CameraPlace& camera, const PartSeen& part, double face_light, std::vector<InnerRing> rings);

  const std::vector<InnerRing>& rings() const { return rings_; }
  const Sides& sides(std::size_t i) const { return sides_[i]; }
  bool is_face(double light) const;
  // How well a ring's place tells its height when it may be eccentric.
  double u_height(const InnerRing& ring) const;
  bool at_face(const InnerRing& ring) const;
  bool is_broken_edge(const InnerRing& ring) const;
  bool is_hub(std::size_t i) const;
  // A rim with no hub or groove close within it: what lies inside is inside a bore.
  bool is_bore(std::size_t i) const;
  bool is_foot_of(std::size_t hub, std::size_t i) const;
  // The line where a hub's broken rim meets its wall: close without, lower by the break.
  const InnerRing* outer_line_of(std::size_t hub) const;
  // A groove's two walls are as high; a hub stands above its foot. False where the two cannot be told apart.
  bool are_as_high(std::size_t outer, std::size_t inner) const;
  // A whole rim with a face within that may be a hub's or a groove's: nothing tells which.
  bool holds_some_face(std::size_t i) const;
  // Within the hub its own face is the face: it may be lit otherwise than a flange in its shade.
  void see_by_face_of(std::size_t hub);

private:
  Sides sides_of(const InnerRing& ring) const;
  // Brighter within all round, though over half the turn the flange beside it is as bright as a face: there the light comes
  // from.
  bool holds_face_in_side_light(std::size_t i) const;
  // One line, clearly above the part's face.
  bool stands(const InnerRing& ring) const;
  // A whole ring with a face within: of the part's own light, or brighter than what surrounds it.
  bool is_lit_within(std::size_t i) const;
  // In a hole: a rim at the face's height, much larger than a hub's foot would be, lies round it.
  bool is_in_a_hole(std::size_t i) const;
  // The whole rim of a bore, no lower than this ring: between the two lies a face.
  bool holds_dark_rim(std::size_t i) const;
  // A whole rim close without, one line, as high: what lies between may as well be a groove as a hub's wall and its shade.
  bool pairs_as_groove(std::size_t i) const;
  // Nothing within a bore is as high as its rim: not a hub's, which stands above the part's face and has a face within; and
  // no rim of a bore, where this ring is brighter within.
  bool holds_as_high_a_rim(std::size_t i) const;
  // A rim within, clearer than this ring, with the face around it, that lies clearly higher: the ring is no bore's but a line
  // on the way up to it, of a hub whose own rim is not seen.
  bool holds_a_higher_rim(std::size_t i) const;

  CameraPlace camera_;
  PartSeen part_;
  double face_light_ = 0;
  std::vector<InnerRing> rings_;
  std::vector<Sides> sides_;
};

}  // namespace rondure
