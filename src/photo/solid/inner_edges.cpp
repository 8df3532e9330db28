#include "photo/solid/inner_edges.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <optional>

#include "photo/solid/broken_rim.hpp"
#include "photo/solid/hole_seen.hpp"
#include "photo/solid/part_light.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Limits of bores and hubs were set looking at seeds 1 and 2 of tests/bench/solid_scenes, those of breaks, of hubs in
// shade and of what is seen through with seeds 3, 4, 5, 8 and 9 worked on (16-003 for the break); where no reason
// stands, by judgement.
// Checked on seeds 14, 16, 33 to 35, new when first looked at (tests/data/studies/solid_scenes.txt).
// One ray a degree.
constexpr int kRays = 360;
// |ln| of light to light, of an edge worth a vote: 5 %, since face and hub, or face and bore, are of one material.
constexpr double kLeastLogRatio = 0.05;
constexpr double kAxis_u_mm = 0.03;      // searching: rings of one turned or moulded part
constexpr double kMeasuring_u_mm = 0.3;  // measuring: a ring's own centre
// Heights that are searched, above the face and the board: the scenes' hubs stand 0.4 to 3 mm; a little below the
// board, for a height's own noise.
constexpr double kHighestHub_mm = 5, kLowest_mm = -0.5;
// Of the outside: beyond lies its own chamfer; the scenes' hubs and grooves end at 0.87 (choose.py).
constexpr double kMostRadius_ratio = 0.93;
// Share of the rays with an edge on the ring, and root mean square of the misses, where all is dark within or all
// bright; other rings: kMostRingRms_px of ring_roles.hpp.
constexpr double kLeastRingCover = 0.25, kMostRmsOfOneSign_px = 0.8;
// Taken where its place does not tell: the scenes' are 0.4 to 3 (choose.py), by judgement, nearer the low end.
constexpr double kUsualHub_mm = 1.2;    // above the face
constexpr double kUnsettled_mm = 0.6;   // above the face, of an edge that may be a hub's or not, and
constexpr double kUUnsettled_mm = 1.0;  // its standard uncertainty: hubs stand 0 to 3 mm high
constexpr double kGroundThrough_ratio =
    0.25;  // of the light beside the part: through a hole it is seen so bright
// Through a hole the ground is seen, in whatever shade, so much brighter than the face.
// Ratio of light; and the ring lies lower than the face by so many standard uncertainties.
constexpr double kGroundOverFace = 2, kBelowInU = 2;
// How far below the face the bore itself begins where its rim is broken: standard uncertainty, of the widest break.
constexpr double kUsualBreak_ratio = 0.1;
constexpr double kBreakTold_ratio =
    0.25;  // standard uncertainty of a hub's size, of a break whose two lines are seen
constexpr double kUsualBreak_mm = 0.07;  // half the chamfers of hubs' rims, and their standard deviation
// A rim's break: nothing else lies within so much of a bore; told so well.
// Of the bore's radius; by judgement.
constexpr double kWithinBore_ratio = 0.8;
// A break is told where twice its u is below half a blur and 0.06 mm together, and where what lies beyond is not
// brighter than the face by more than a tenth; by judgement.
constexpr double kToldInBlurs = 0.5, kTold_mm = 0.06, kAsDarkBeyond = 1.1;
// Of the sectors, that tell one break: with more than the first it is the answer; with more than the second it may be
// there, and counts in u with so much of what it moves.
constexpr double kAgreeOnBore = 0.55, kSomeAgree = 0.3,
                 kMayBeBroken = 0.4;  // of the sectors; of what the break moves
// In the radius: no more is allowed for; the scenes' are broken by up to 0.2 (choose.py).
constexpr double kUsualBoreBreak_mm = 0.15;
constexpr double kLeastBroken_px = 10;  // radius: smaller bores bend and darken within their break
constexpr double kUnresolved_blurs =
    0.3;  // standard uncertainty of an edge beside a line too thin to be resolved
// The ground in a hole darkens towards its wall: standard uncertainty of the edge.
constexpr double kShadedGround_px = 0.4;
// Of the hole's radius: rings up to so much are its own, and are not named again.
constexpr double kSameHole_ratio = 1.1;
// Of the radius: a lower ring so like the bore's is its far rim.
constexpr double kSameBore_ratio = 0.06;
// A bore's rim and the hole through it: so near each other they are one edge read twice.
// kEitherShare: of what they differ by, as a standard uncertainty (evenly likely between gives 0.29 of it, this is
// twice that, by judgement). kHalfSeen: cover from which a line within may be where a break meets the bore.
constexpr double kEither_px = 4, kEitherShare = 0.6, kHalfSeen = 0.4;
// A hole's or an inner line's misses, of the rim's: so much less, and it counts; score of a hole that does.
// By judgement.
constexpr double kHoleFits = 0.65, kClearHoleScore = 0.75;  // bright within: the ground through both rims
// Of the radius: no farther within, a cleaner line is the same rim's; by judgement.
constexpr double kOtherRim_ratio = 0.75;
constexpr double kRimFits = 2, kCleanRim_px = 0.25;  // of the root mean square of the misses
constexpr double kRim_px = 0.4;                      // standard uncertainty of the diameter at a rim
constexpr double kScatterCosts = 2;                  // of a rim whose edges lie on more than one line

class Naming {
public:
  Naming(const Picture& picture, const MeasuringPlane& board, const std::vector<float>& table,
         const CameraPlace& camera, const PartSeen& part)
      : picture_(picture),
        board_(board),
        table_(table),
        camera_(camera),
        part_(part),
        light_(picture, board, table, camera, part) {}

  // Of bores: beside a hub its shadow and its wall's shade are as narrow.
  std::optional<BrokenRim> break_of(const InnerRing& ring) const {
    RimOnFace rim{ring.center, ring.radius_mm, ring.height_mm};
    rim.scale = camera_.scale_at(ring.height_mm);
    rim.depth_mm = ring.height_mm;
    rim.beyond_mm = kWithinBore_ratio * ring.radius_mm;
    rim.widest_mm = kMostBreak_mm;
    const double blur_px = out_.rays.camera_blur_px;
    return weigh_break(sectors_of_rim(LightAt(picture_, table_), board_, camera_, rim, blur_px), blur_px,
                       rim);
  }

  InnerEdges run() {
    search();
    if (roles_) {
      name_hub();
      name_groove();
      name_bore();
      if (!hub_ && !bore_) name_seen_through();
      if (!hub_ && !hole_seen_) name_unsettled();
      name_rest();
    }
    return std::move(out_);
  }

private:
  void search() {
    const auto j = pixel_per_part(board_, PartPoint::from(part_.center));
    const auto face_light = light_.of_face();
    if (!j || !face_light) return;
    const double px = std::sqrt(std::abs(j->determinant()));
    RingSearch wanted;
    wanted.least_height_mm = kLowest_mm, wanted.most_height_mm = part_.face_mm + kHighestHub_mm;
    wanted.least_radius_mm = kLeastRadius_px / px,
    wanted.most_radius_mm = kMostRadius_ratio * part_.radius_mm;
    if (wanted.least_radius_mm > 0.5 * wanted.most_radius_mm) return;
    out_.rays =
        find_ray_edges(picture_, board_, table_, seen_at(part_.face_mm), 2 / px,
                       wanted.most_radius_mm * camera_.scale_at(part_.face_mm), kRays, kLeastLogRatio);
    std::vector<InnerRing> rings;
    for (InnerRing& ring : find_inner_rings(out_.rays, camera_, {part_.center, kAxis_u_mm}, wanted))
      if (is_sound(ring)) rings.push_back(std::move(ring));
    std::sort(rings.begin(), rings.end(),
              [](const InnerRing& a, const InnerRing& b) { return a.radius_mm > b.radius_mm; });
    taken_.assign(rings.size(), false);
    face_light_ = *face_light;
    roles_.emplace(camera_, part_, face_light_, std::move(rings));
    holes_.emplace(camera_, part_, *roles_, out_.rays);
  }

  Eigen::Vector2d seen_at(double z) const { return camera_.seen_at(part_.center, z); }

  static bool of_one_sign(const InnerRing& ring) {
    return ring.dark_inside_share > kOneSign || ring.dark_inside_share < 1 - kOneSign;
  }
  static bool is_sound(const InnerRing& ring) {
    return ring.cover > kLeastRingCover &&
           ring.rms_px < (of_one_sign(ring) ? kMostRmsOfOneSign_px : kMostRingRms_px);
  }

  const std::vector<InnerRing>& rings() const { return roles_->rings(); }
  double blur_mm() const { return out_.rays.camera_blur_px / out_.rays.px_per_mm; }

  static WallFit as_fit(const InnerRing& ring) {
    WallFit fit;
    fit.wall.center = ring.center, fit.wall.radius_mm = ring.radius_mm;
    fit.wall.foot_mm = fit.wall.top_mm = ring.height_mm;
    fit.shape.foot_mm = fit.shape.top_mm = ring.height_mm, fit.shape.tied = true;
    fit.score = ring.support, fit.cover = ring.cover, fit.rms_px = ring.rms_px;
    fit.u_radius_mm = ring.u_radius_mm;
    for (const RingEdge& e : ring.edges) fit.chosen.push_back({e.ray, e.edge, e.miss_px});
    return fit;
  }

  InnerRing measured_at(const InnerRing& ring, double height_mm) const {
    return rondure::at_height(ring, out_.rays.px_per_mm, camera_, {ring.center, kMeasuring_u_mm}, height_mm);
  }

  void add(EdgeRole role, const InnerRing& ring, double u_height_mm, double u_more_mm) {
    InnerEdge edge;
    edge.role = role;
    edge.fit = as_fit(ring);
    edge.height_mm = ring.height_mm, edge.u_height_mm = u_height_mm;
    edge.u_diameter_mm = std::hypot(2 * ring.radius_mm / camera_.height_mm * u_height_mm, u_more_mm);
    out_.named.push_back(std::move(edge));
  }

  // The largest ring that holds a face of its own above the part's.
  void name_hub() {
    for (std::size_t i = 0; i < rings().size() && !hub_ && !roles_->is_bore(i); ++i)
      if (roles_->is_hub(i)) hub_ = &rings()[i], taken_[i] = true;
    if (!hub_) return;
    // Its wall is seen towards the camera, between its foot on the face and its rim.
    const InnerRing* foot = nullptr;
    for (std::size_t i = 0; i < rings().size() && &rings()[i] != hub_; ++i)
      if (roles_->is_foot_of(index_of(*hub_), i)) foot = &rings()[i], taken_[i] = true;
    const double height = hub_->u_height_mm > kNoHeight_mm ? part_.face_mm + kUsualHub_mm : hub_->height_mm;
    InnerRing rim = measured_at(*hub_, height);
    double shift_mm = kUsualBreak_mm, u_wall_mm = 2 * kUsualBreak_mm;
    if (foot) {
      const double wall_mm = near_radius(*foot) - rim.radius_mm;
      shift_mm = 0.5 * std::max(0.0, wall_mm),
      u_wall_mm = std::max(0.5 * std::abs(wall_mm), 2 * kUsualBreak_mm);
      add(EdgeRole::kFoot, measured_at(*foot, part_.face_mm), 0, 0);
    }
    if (const InnerRing* line = roles_->outer_line_of(index_of(*hub_))) {
      taken_[index_of(*line)] = true;
      rim = measured_at(*line, height - (line->radius_mm - hub_->radius_mm));
      shift_mm = 0, u_wall_mm = kBreakTold_ratio * 2 * (rim.radius_mm - hub_->radius_mm);
    }
    roles_->see_by_face_of(index_of(*hub_));
    add(EdgeRole::kHubStep, rim, roles_->u_height(*hub_),
        std::hypot(u_wall_mm, 2 * kUnresolved_blurs * blur_mm()));
    out_.named.back().shift_mm = shift_mm;
  }

  std::size_t index_of(const InnerRing& ring) const {
    return static_cast<std::size_t>(&ring - rings().data());
  }

  // Of the side towards the camera, about the part's axis, on the face.
  double near_radius(const InnerRing& foot) const {
    const double s = camera_.scale_at(part_.face_mm);
    const Eigen::Vector2d c = seen_at(part_.face_mm);
    std::vector<double> radii;
    for (const RingEdge& e : foot.edges)
      if ((e.edge->at - c).dot(part_.center - camera_.foot) < 0 && roles_->is_face(e.edge->outside))
        radii.push_back((e.edge->at - c).norm() / s);
    return radii.empty() ? foot.radius_mm : median(radii);
  }

  // A rim and, within it, a ring that holds the face again at the same height.
  void name_groove() {
    for (std::size_t o = 0; o < rings().size(); ++o) {
      if (taken_[o] || !roles_->sides(o).is_rim() || !roles_->at_face(rings()[o]) ||
          rings()[o].cover < kLeastBoreCover)
        continue;
      for (std::size_t i = o + 1; i < rings().size(); ++i) {
        if (taken_[i] || !roles_->sides(i).holds_face() || !roles_->at_face(rings()[i]) ||
            rings()[i].cover < kLeastBoreCover)
          continue;
        if (rings()[i].radius_mm < (1 - kGrooveWidth_ratio) * rings()[o].radius_mm) break;
        if (!roles_->are_as_high(o, i)) return leave_open(o), leave_open(i);
        taken_[o] = taken_[i] = true;
        const double u = 2 * kUnresolved_blurs * blur_mm();
        add(EdgeRole::kGrooveOuterWall, measured_at(rings()[o], part_.face_mm), part_.u_face_mm, u);
        add(EdgeRole::kGrooveInnerWall, measured_at(rings()[i], part_.face_mm), part_.u_face_mm, u);
        return;
      }
    }
  }

  // An edge of the part that may be a bore's, a hub's or a groove's: where it is, whatever it is.
  void leave_open(std::size_t i) {
    const double expected_mm = part_.face_mm + kUnsettled_mm,
                 u_expected_mm = std::hypot(kUUnsettled_mm, part_.u_face_mm),
                 own = std::pow(roles_->u_height(rings()[i]), -2), prior = std::pow(u_expected_mm, -2);
    const double height_mm = (own * rings()[i].height_mm + prior * expected_mm) / (own + prior);
    const InnerRing ring = measured_at(rings()[i], height_mm);
    taken_[i] = true;
    add(EdgeRole::kInnerEdge, ring, 1 / std::sqrt(own + prior), u_of_rim_mm(rings()[i], ring));
  }

  // The largest rim with a face within whose height tells neither a hub nor a groove.
  void name_unsettled() {
    for (std::size_t i = 0; i < rings().size(); ++i)
      if (!taken_[i] && roles_->holds_some_face(i) && !(bore_ && rings()[i].radius_mm < bore_->radius_mm))
        return leave_open(i);
  }

  static double light_within(const InnerRing& ring) {
    std::vector<double> within;
    for (const RingEdge& e : ring.edges) within.push_back(e.edge->inside);
    return median(std::move(within));
  }

  // Brighter than the face, and not by the ground seen through it: a lit floor, or something bright set in or standing up.
  bool may_be_set_in(const InnerRing& ring) const {
    if (part_.height_told || ring.dark_inside_share > 1 - kOneSign) return false;
    return light_within(ring) < kGroundThrough_ratio * light_.beside();
  }

  // Light and dark within by turns and scattered, and as high a line close within it is cleaner: parts of more than one rim.
  bool is_of_two_lines(std::size_t i) const {
    const InnerRing& ring = rings()[i];
    if (of_one_sign(ring) || ring.rms_px < kMostHigherRms_px) return false;
    return std::any_of(rings().begin() + static_cast<std::ptrdiff_t>(i) + 1, rings().end(),
                       [&](const InnerRing& within) {
                         return within.radius_mm > kOtherRim_ratio * ring.radius_mm &&
                                within.cover >= ring.cover && within.rms_px < kHoleFits * ring.rms_px &&
                                within.height_mm > ring.height_mm - kSameHeight_mm;
                       });
  }

  // Lower than the face and much brighter, as the ground is: seen through a hole.
  bool shows_ground(const InnerRing& ring) const {
    const double within = light_within(ring), beside = light_.beside();
    return ring.dark_inside_share < 1 - kOneSign && within > kGroundOverFace * face_light_ &&
           within > kShadedGround_ratio * beside && ring.height_mm > kLowest_mm &&
           ring.height_mm < part_.face_mm - kBelowInU * std::hypot(roles_->u_height(ring), part_.u_face_mm);
  }

  // No whole rim is seen, but the ground through both.
  void name_seen_through() {
    for (std::size_t i = 0; i < rings().size(); ++i) {
      if (taken_[i] || rings()[i].radius_mm > kWidestBore_ratio * part_.radius_mm ||
          roles_->is_broken_edge(rings()[i]) || !shows_ground(rings()[i]))
        continue;
      const WallFit hole = holes_->in_ring(i, part_.face_mm, false);
      if (!HoleSearch::is_seen(hole)) continue;
      taken_[i] = true;
      bore_ = &rings()[i];
      add_hole(hole, {part_.face_mm, part_.u_face_mm}, kMostBreak_mm * kUsualBreak_ratio);
      return;
    }
    name_hole_about_axis();
  }

  void name_hole_about_axis() {
    const auto hole = holes_->about_axis(face_light_, light_.beside());
    if (!hole) return;
    for (std::size_t i = 0; i < rings().size(); ++i)
      if (rings()[i].radius_mm < kSameHole_ratio * hole->wall.radius_mm) taken_[i] = true;
    hole_seen_ = true;
    add_hole(*hole, {part_.face_mm, part_.u_face_mm}, kMostBreak_mm * kUsualBreak_ratio);
  }

  void add_hole(const WallFit& hole, const Estimate& top, double u_other_mm) {
    InnerEdge edge;
    edge.role = EdgeRole::kBore, edge.fit = hole, edge.height_mm = top.value, edge.u_height_mm = top.u;
    edge.u_diameter_mm = std::hypot(2 * hole.wall.radius_mm / camera_.height_mm * top.u, u_other_mm,
                                    2 * kShadedGround_px / out_.rays.px_per_mm);
    out_.named.push_back(std::move(edge));
  }

  void name_bore() {
    for (std::size_t i = 0; i < rings().size(); ++i) {
      const InnerRing& ring = rings()[i];
      if (taken_[i] || ring.radius_mm > kWidestBore_ratio * part_.radius_mm) continue;
      if (hub_ && ring.radius_mm > 0.97 * hub_->radius_mm) continue;
      if (!roles_->is_bore(i)) continue;
      if (may_be_set_in(ring) || is_of_two_lines(i)) return leave_open(i);
      if (!measure_bore(i)) continue;
      taken_[i] = true;
      bore_ = &ring;
      return;
    }
  }

  // Above the face: in a hub whose own rim is not seen.
  bool opens_higher(const InnerRing& ring) const {
    const double above_mm = ring.height_mm - part_.face_mm,
                 u_mm = std::hypot(ring.u_height_mm, part_.u_face_mm);
    return ring.rms_px < (above_mm > kClearlyInU * u_mm ? kMostRingRms_px : kMostHigherRms_px) &&
           above_mm > std::max(kUnseenHub_mm, kUnseenHubInU * u_mm);
  }

  // Height of the face that the bore opens in: the part's, told, or a hub's, from both its own rim and the bore's.
  Estimate rim_height(const InnerRing& ring) const {
    if (!hub_ && opens_higher(ring)) return {ring.height_mm, roles_->u_height(ring)};
    if (!hub_) return {part_.face_mm, part_.u_face_mm};
    if (hub_->u_height_mm > kNoHeight_mm) return {part_.face_mm + kUsualHub_mm, 1.0};
    const double a = 1 / std::pow(ring.u_height_mm, 2), b = 1 / std::pow(2 * hub_->u_height_mm, 2);
    const double z = (a * ring.height_mm + b * hub_->height_mm) / (a + b);
    return {std::max(z, part_.face_mm), roles_->u_height(ring)};
  }

  bool measure_bore(std::size_t i) {
    const InnerRing& ring = rings()[i];
    const Estimate top = rim_height(ring);
    const bool at_top =
        std::abs(ring.height_mm - (hub_ ? hub_->height_mm : top.value)) <
        std::max(kSameHeight_mm, 3 * std::hypot(ring.u_height_mm, hub_ ? hub_->u_height_mm : 0, top.u));
    const double whole = ring.cover * roles_->sides(i).face_outside;
    InnerRing rim = ring;
    std::erase_if(rim.edges, [&](const RingEdge& e) { return !roles_->is_face(e.edge->outside); });
    rim = measured_at(rim, top.value);
    double beyond_mm = 0;
    if (at_top && whole > kLeastBoreCover && rim.radius_mm * out_.rays.px_per_mm > kLeastBroken_px)
      if (const auto told = break_of(rim)) {
        if (is_told(ring, *told)) {
          add(EdgeRole::kBore, rim, top.u, 2 * told->u_mm);
          out_.named.back().shift_mm = beyond_break_mm(rim, *told);
          return true;
        }
        beyond_mm = told->agreed_share > kSomeAgree ? std::min(told->beyond_mm, kUsualBoreBreak_mm) : 0;
      }
    if (const InnerRing* line = broken_to(i, rim)) {
      const double height = top.value - (rim.radius_mm - line->radius_mm);
      add(EdgeRole::kBore, measured_at(*line, height), std::hypot(top.u, 0.5 * (top.value - height)),
          2 * std::hypot(kUnresolved_blurs * blur_mm(), kRim_px / out_.rays.px_per_mm));
      return true;
    }
    const WallFit inner = holes_->in_ring(i, top.value, true);
    const double break_mm = rim.radius_mm - inner.wall.radius_mm;
    const bool broken = HoleSearch::is_seen(inner) && break_mm > kLeastBreak_mm && break_mm < kMostBreak_mm &&
                        holes_->is_within_break(inner);
    const WallFit hole = broken ? inner : holes_->in_ring(i, top.value, false);
    const bool hole_seen = HoleSearch::is_seen(hole);
    // Two readings of one edge: each may be the other's.
    const double apart_mm = 2 * std::abs(rim.radius_mm - hole.wall.radius_mm);
    const bool either = hole_seen && apart_mm < kEither_px / out_.rays.px_per_mm;
    const double u_other_mm = either ? kEitherShare * apart_mm : 0;
    const bool ground_through = hole_seen && ring.dark_inside_share < 1 - kOneSign &&
                                hole.score > kClearHoleScore && hole.rms_px < kHoleFits * rim.rms_px;
    const bool rim_fits =
        !ground_through && (!hole_seen || rim.rms_px < kRimFits * hole.rms_px || rim.rms_px < kCleanRim_px);
    const double u_rim_mm = std::hypot(std::hypot(u_other_mm, kMayBeBroken * 2 * beyond_mm),
                                       u_of_rim_mm(ring, rim), kEitherShare * half_seen_break_mm(i, rim));
    if (at_top && whole > kWholeRim && !broken && rim_fits) {
      add(EdgeRole::kBore, rim, top.u, u_rim_mm);
      return true;
    }
    if (hole_seen) {
      const double u_break_mm = broken ? kUnresolved_blurs * blur_mm() : 0;
      add_hole(hole, top, std::hypot(at_top ? u_other_mm : 0, 2 * u_break_mm));
      return true;
    }
    if (!at_top) return false;
    add(EdgeRole::kBore, rim, top.u, u_rim_mm);
    return true;
  }

  // Not where what lies beyond is brighter than the face: its shade along the rim may pass for a break, unless all is dark
  // beside the rim.
  bool is_told(const InnerRing& ring, const BrokenRim& broken) const {
    return broken.agreed_share > kAgreeOnBore &&
           (ring.dark_inside_share > kOneSign || broken.beyond_to_face < kAsDarkBeyond) &&
           2 * broken.u_mm < kToldInBlurs * blur_mm() + kTold_mm;
  }

  // In the radius; the edge beyond a break lies lower than the rim by its width (45 degrees).
  double beyond_break_mm(const InnerRing& rim, const BrokenRim& broken) const {
    return -broken.beyond_mm + broken.width_mm * rim.radius_mm / (camera_.height_mm - rim.height_mm);
  }

  // Of the diameter: the edge itself, a break of the rim too narrow to be seen, edges of more than one line.
  double u_of_rim_mm(const InnerRing& ring, const InnerRing& measured) const {
    const double missed_px = std::max(ring.rms_px, measured.rms_px),
                 scatter_px = missed_px > kCleanRim_px ? kScatterCosts * missed_px : 0;
    return std::hypot(std::hypot(kRim_px, scatter_px) / out_.rays.px_per_mm,
                      2 * kUnresolved_blurs * blur_mm());
  }

  // Of the diameter: to a line that may be where a broken rim meets the bore, seen over part of the way round.
  double half_seen_break_mm(std::size_t i, const InnerRing& rim) const {
    double widest_mm = 0;
    for (std::size_t k = i + 1; k < rings().size(); ++k) {
      const InnerRing& line = rings()[k];
      if (may_meet_bore(rim, line) && line.cover > kHalfSeen)
        widest_mm = std::max(widest_mm, 2 * (rim.radius_mm - line.radius_mm));
    }
    return widest_mm;
  }

  // Close within the rim, at its height less the break's, darker within.
  bool may_meet_bore(const InnerRing& rim, const InnerRing& line) const {
    const double break_mm = rim.radius_mm - line.radius_mm,
                 off_mm = line.height_mm - (rim.height_mm - break_mm);
    return break_mm > kLeastBreak_mm && break_mm < kMostBreak_mm && line.dark_inside_share > kOneSign &&
           line.rms_px < kMostRingRms_px &&
           std::abs(off_mm) < std::max(kSameHeight_mm, 3 * std::hypot(line.u_height_mm, part_.u_face_mm));
  }

  // The line where a broken rim (chamfer, fillet) meets the bore itself; a far rim lies lower. None where the rim is the
  // more whole of the two.
  const InnerRing* broken_to(std::size_t i, const InnerRing& rim) const {
    for (std::size_t k = i + 1; k < rings().size(); ++k) {
      const InnerRing& line = rings()[k];
      if (may_meet_bore(rim, line) && line.cover >= std::max(kWholeRim, rings()[i].cover)) return &line;
    }
    return nullptr;
  }

  // Far rims, and lines on the face.
  void name_rest() {
    for (std::size_t i = 0; i < rings().size(); ++i) {
      const InnerRing& ring = rings()[i];
      if (taken_[i] || roles_->is_broken_edge(ring)) continue;
      const bool far_rim = bore_ && ring.height_mm < bore_->height_mm - kHubStands_mm &&
                           std::abs(ring.radius_mm / bore_->radius_mm - 1) < kSameBore_ratio;
      if (far_rim)
        add(EdgeRole::kFoot, ring, 0, 0);
      else if (roles_->sides(i).is_line() && ring.cover > kLeastBoreCover && ring.rms_px < 0.4)
        add(EdgeRole::kMark, ring, 0, 0);
    }
  }

  const Picture& picture_;
  const MeasuringPlane& board_;
  const std::vector<float>& table_;
  const CameraPlace& camera_;
  const PartSeen& part_;
  const PartLight light_;
  InnerEdges out_;
  double face_light_ = 0;
  std::optional<RingRoles> roles_;
  std::optional<HoleSearch> holes_;
  std::vector<bool> taken_;
  const InnerRing* hub_ = nullptr;
  const InnerRing* bore_ = nullptr;
  bool hole_seen_ = false;  // a bore that no ring is
};

}  // namespace

InnerEdges find_inner_edges(const Picture& picture, const MeasuringPlane& board,
                            const std::vector<float>& light_table, const CameraPlace& camera,
                            const PartSeen& part) {
  return Naming(picture, board, light_table, camera, part).run();
}

}  // namespace rondure
