#include "photo/solid/inner_edges.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

#include "rondure/core/geometry.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr int kRays = 360;
constexpr double kLeastLogRatio = 0.05;
constexpr double kAxis_u_mm = 0.03;        // searching: rings of one turned or moulded part
constexpr double kEccentricity_mm = 0.05;  // standard deviation, for what the axis tells of a height
constexpr double kMeasuring_u_mm = 0.3;    // measuring: a ring's own centre
constexpr double kHighestHub_mm = 5, kLowest_mm = -0.5;
constexpr double kMostRadius_ratio = 0.93, kLeastRadius_px = 4;
constexpr double kBrokenEdge_mm = 0.95;  // so near the outside, at the face's height: its chamfer or fillet
constexpr double kFaceLike = 0.20, kFaceFloor = 0.002;  // |ln| of light against the face's
constexpr double kMostShare = 0.6, kRimShare = 0.5, kHubShare = 0.4;
constexpr double kLeastCover = 0.25, kMostRms_px = 0.62, kMostRmsOfOneSign_px = 0.8, kOneSign = 0.85;
constexpr double kNoHeight_mm =
    1.5;  // a ring's place that tells its height no better than this does not tell it
constexpr double kFootPlace_mm = 1.5;    // beside a dark wall and its shade an edge's height is told so well
constexpr double kUsualHub_mm = 1.2;     // above the face
constexpr double kUsualBreak_mm = 0.07;  // half the chamfers of hubs' rims, and their standard deviation
constexpr double kHubStands_mm = 0.3, kSameHeight_mm = 0.25;
constexpr double kWidestBore_ratio = 0.8, kLeastBoreCover = 0.55, kWholeRim = 0.75;
constexpr double kFootBeyondHub_ratio = 0.25, kGrooveWidth_ratio = 0.4;
constexpr double kLeastHoleScore = 0.55, kLeastHoleCover = 0.7, kMostHoleRms_px = 0.5;
constexpr double kLeastBreak_mm = 0.08, kMostBreak_mm = 0.6;  // of a bore's rim, in the radius
constexpr double kUnresolved_blurs =
    0.3;  // standard uncertainty of an edge beside a line too thin to be resolved
// The ground in a hole darkens towards its wall: standard uncertainty of the edge.
constexpr double kShadedGround_px = 0.4;
constexpr double kSameBore_ratio = 0.06;
constexpr double kUnseenHub_mm = 0.5, kUnseenHubInU = 3, kMostHigherRms_px = 0.45;
// A bore's rim and the hole through it: so near each other they are one edge read twice.
constexpr double kEither_px = 4, kEitherShare = 0.6;
constexpr double kRimFits = 2, kCleanRim_px = 0.25;  // of the root mean square of the misses
constexpr double kRim_px = 0.4;                      // standard uncertainty of the diameter at a rim
constexpr double kScatterCosts = 2;                  // of a rim whose edges lie on more than one line

// Of a ring's edges, how many have the face's light outside, inside.
struct Sides {
  double face_outside = 0, face_inside = 0;
  bool is_rim() const { return face_outside > kRimShare && face_inside < kMostShare; }
  bool holds_face() const { return face_inside > kMostShare && face_outside < kHubShare; }
  bool is_line() const { return face_inside > kMostShare && face_outside > kMostShare; }
};

class Naming {
public:
  Naming(const Picture& picture, const MeasuringPlane& board, const std::vector<float>& table,
         const CameraPlace& camera, const PartSeen& part)
      : picture_(picture), board_(board), table_(table), camera_(camera), part_(part) {}

  InnerEdges run() {
    search();
    if (!rings_.empty()) {
      name_hub();
      name_groove();
      name_bore();
      name_rest();
    }
    return std::move(out_);
  }

private:
  void search() {
    const auto j = pixel_per_part(board_, PartPoint::from(part_.center));
    if (!j || !measure_face()) return;
    const double px = std::sqrt(std::abs(j->determinant()));
    RingSearch wanted;
    wanted.least_height_mm = kLowest_mm, wanted.most_height_mm = part_.face_mm + kHighestHub_mm;
    wanted.least_radius_mm = kLeastRadius_px / px,
    wanted.most_radius_mm = kMostRadius_ratio * part_.radius_mm;
    if (wanted.least_radius_mm > 0.5 * wanted.most_radius_mm) return;
    out_.rays =
        find_ray_edges(picture_, board_, table_, seen_at(part_.face_mm), 2 / px,
                       wanted.most_radius_mm * camera_.scale_at(part_.face_mm), kRays, kLeastLogRatio);
    off_mm_ = (part_.center - camera_.foot).norm();
    for (InnerRing& ring : find_inner_rings(out_.rays, camera_, {part_.center, kAxis_u_mm}, wanted))
      if (is_sound(ring)) rings_.push_back(std::move(ring));
    std::sort(rings_.begin(), rings_.end(),
              [](const InnerRing& a, const InnerRing& b) { return a.radius_mm > b.radius_mm; });
    for (const InnerRing& ring : rings_) sides_.push_back(sides(ring));
    taken_.assign(rings_.size(), false);
  }

  Eigen::Vector2d seen_at(double z) const { return camera_.seen_at(part_.center, z); }

  std::optional<double> light_at(const Eigen::Vector2d& place) const {
    const auto px = pixel_from_part(board_, PartPoint::from(place));
    if (!px) return {};
    const double x = std::round(px->x_px), y = std::round(px->y_px);
    if (!(x >= 0 && y >= 0 && x < picture_.width_px && y < picture_.height_px)) return {};
    return table_[static_cast<std::size_t>(picture_.at(static_cast<int>(x), static_cast<int>(y)))];
  }

  // The light of the top face: near the outside, clear of its broken edge.
  bool measure_face() {
    std::vector<double> lights;
    const double s = camera_.scale_at(part_.face_mm);
    const Eigen::Vector2d c = seen_at(part_.face_mm);
    const double outer = std::max(0.75 * part_.radius_mm, part_.radius_mm - 1.0), inner = 0.85 * outer;
    for (int ring = 0; ring < 4; ++ring)
      for (int k = 0; k < 180; ++k) {
        const double r = s * (inner + (outer - inner) * ring / 3), a = 2 * kPi * k / 180;
        if (const auto l = light_at(c + r * Eigen::Vector2d(std::cos(a), std::sin(a)))) lights.push_back(*l);
      }
    if (lights.size() < 100) return false;
    face_light_ = median(lights);
    return face_light_ > 0;
  }

  bool is_face(double light) const {
    return std::abs(std::log((std::max(light, 0.0) + kFaceFloor) / (face_light_ + kFaceFloor))) < kFaceLike;
  }

  Sides sides(const InnerRing& ring) const {
    Sides s;
    for (const RingEdge& e : ring.edges)
      s.face_outside += is_face(e.edge->outside), s.face_inside += is_face(e.edge->inside);
    const double count = std::max<double>(1, static_cast<double>(ring.edges.size()));
    s.face_outside /= count, s.face_inside /= count;
    return s;
  }

  static bool of_one_sign(const InnerRing& ring) {
    return ring.dark_inside_share > kOneSign || ring.dark_inside_share < 1 - kOneSign;
  }
  static bool is_sound(const InnerRing& ring) {
    return ring.cover > kLeastCover && ring.rms_px < (of_one_sign(ring) ? kMostRmsOfOneSign_px : kMostRms_px);
  }

  // How well a ring's place tells its height when it may be eccentric.
  double u_height(const InnerRing& ring) const {
    return std::min(
        2.0, std::hypot(ring.u_height_mm, kEccentricity_mm * camera_.height_mm / std::max(off_mm_, 1.0)));
  }
  double blur_mm() const { return out_.rays.camera_blur_px / out_.rays.px_per_mm; }

  bool at_face(const InnerRing& ring) const {
    return std::abs(ring.height_mm - part_.face_mm) <
           std::max(kSameHeight_mm, 2 * std::hypot(ring.u_height_mm, part_.u_face_mm));
  }
  bool is_broken_edge(const InnerRing& ring) const {
    return ring.radius_mm > part_.radius_mm - kBrokenEdge_mm && ring.radius_mm > 0.6 * part_.radius_mm &&
           ring.height_mm < part_.face_mm + std::max(kHubStands_mm, 2.5 * ring.u_height_mm);
  }

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

  static bool is_seen(const WallFit& hole) {
    return hole.score > kLeastHoleScore && hole.cover > kLeastHoleCover && hole.rms_px < kMostHoleRms_px;
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

  bool is_hub(std::size_t i) const {
    const InnerRing& ring = rings_[i];
    if (is_broken_edge(ring)) return false;
    if (stands(ring) && is_lit_within(i) && holds_dark_rim(i)) return true;
    if (!sides_[i].holds_face()) return false;
    if (pairs_as_groove(i)) return stands(ring);
    return ring.u_height_mm > kNoHeight_mm ||
           ring.height_mm - part_.face_mm >
               std::max(kHubStands_mm, 1.5 * std::hypot(ring.u_height_mm, part_.u_face_mm));
  }
  // One line, clearly above the part's face.
  bool stands(const InnerRing& ring) const {
    return ring.rms_px < kMostHigherRms_px &&
           ring.height_mm - part_.face_mm >
               std::max(kUnseenHub_mm, kUnseenHubInU * std::hypot(u_height(ring), part_.u_face_mm));
  }
  // A whole ring with a face within: of the part's own light, or brighter than what surrounds it.
  bool is_lit_within(std::size_t i) const {
    return rings_[i].cover > kWholeRim &&
           (rings_[i].dark_inside_share < 1 - kOneSign ||
            (sides_[i].face_inside > kMostShare && rings_[i].dark_inside_share < kOneSign));
  }
  static bool is_lower(const InnerRing& a, const InnerRing& than) {
    return a.height_mm <
           than.height_mm - std::max(kSameHeight_mm, 3 * std::hypot(a.u_height_mm, than.u_height_mm));
  }
  // The whole rim of a bore, no lower than this ring: between the two lies a face.
  bool holds_dark_rim(std::size_t i) const {
    return std::any_of(
        rings_.begin() + static_cast<std::ptrdiff_t>(i) + 1, rings_.end(), [&](const InnerRing& within) {
          return within.cover > kWholeRim && within.dark_inside_share > kOneSign &&
                 within.radius_mm < rings_[i].radius_mm - kMostBreak_mm && !is_lower(within, rings_[i]);
        });
  }
  // A whole rim close without, as high: what lies between may as well be a groove as a hub's wall and its shade.
  bool pairs_as_groove(std::size_t i) const {
    for (std::size_t o = 0; o < i; ++o)
      if (sides_[o].is_rim() && rings_[o].cover > kWholeRim && !is_lower(rings_[o], rings_[i]) &&
          rings_[i].radius_mm > (1 - kGrooveWidth_ratio) * rings_[o].radius_mm)
        return true;
    return false;
  }

  // A rim with no hub or groove close within it: what lies inside is inside a bore.
  bool is_bore(std::size_t i) const {
    const InnerRing& ring = rings_[i];
    if (is_broken_edge(ring) || !sides_[i].is_rim() || ring.cover < kLeastBoreCover) return false;
    for (std::size_t k = i + 1; k < rings_.size(); ++k)
      if ((sides_[k].holds_face() || (sides_[k].face_inside > kMostShare && is_lit_within(k))) &&
          rings_[k].radius_mm > ring.radius_mm / (1 + kFootBeyondHub_ratio) &&
          rings_[k].height_mm + 2 * rings_[k].u_height_mm > part_.face_mm - kSameHeight_mm)
        return false;
    if (holds_as_high_a_rim(i)) return false;
    return ring.rms_px < kMostRms_px || ring.dark_inside_share > kOneSign;
  }

  // Nothing within a bore is as high as its rim: not a hub's, which stands above the part's face and has a face within; and no
  // rim of a bore, where this ring is brighter within.
  bool holds_as_high_a_rim(std::size_t i) const {
    if (rings_[i].dark_inside_share < 1 - kOneSign && holds_dark_rim(i)) return true;
    for (std::size_t k = i + 1; k < rings_.size(); ++k)
      if (stands(rings_[k]) && is_lit_within(k) && !is_lower(rings_[k], rings_[i]) &&
          rings_[k].radius_mm < rings_[i].radius_mm - kLeastBreak_mm)
        return true;
    return false;
  }

  bool is_foot(std::size_t i) const {
    const InnerRing& ring = rings_[i];
    return sides_[i].is_rim() && ring.radius_mm < (1 + kFootBeyondHub_ratio) * hub_->radius_mm &&
           std::abs(ring.height_mm - part_.face_mm) < kFootPlace_mm + 2 * ring.u_height_mm;
  }

  // The largest ring that holds a face of its own above the part's.
  void name_hub() {
    for (std::size_t i = 0; i < rings_.size() && !hub_ && !is_bore(i); ++i)
      if (is_hub(i)) hub_ = &rings_[i], taken_[i] = true;
    if (!hub_) return;
    // Its wall is seen towards the camera, between its foot on the face and its rim.
    const InnerRing* foot = nullptr;
    for (std::size_t i = 0; i < rings_.size() && &rings_[i] != hub_; ++i)
      if (is_foot(i)) foot = &rings_[i], taken_[i] = true;
    const double height = hub_->u_height_mm > kNoHeight_mm ? part_.face_mm + kUsualHub_mm : hub_->height_mm;
    const InnerRing rim = measured_at(*hub_, height);
    double shift_mm = kUsualBreak_mm, u_wall_mm = 2 * kUsualBreak_mm;
    if (foot) {
      const double wall_mm = near_radius(*foot) - rim.radius_mm;
      shift_mm = 0.5 * std::max(0.0, wall_mm),
      u_wall_mm = std::max(0.5 * std::abs(wall_mm), 2 * kUsualBreak_mm);
      add(EdgeRole::kFoot, measured_at(*foot, part_.face_mm), 0, 0);
    }
    see_by_face_of_hub();
    add(EdgeRole::kHubStep, rim, u_height(*hub_), std::hypot(u_wall_mm, 2 * kUnresolved_blurs * blur_mm()));
    out_.named.back().shift_mm = shift_mm;
  }

  // Within the hub its own face is the face: it may be lit otherwise than a flange in its shade.
  void see_by_face_of_hub() {
    std::vector<double> lights;
    for (const RingEdge& e : hub_->edges) lights.push_back(e.edge->inside);
    face_light_ = median(lights);
    for (std::size_t i = static_cast<std::size_t>(hub_ - rings_.data()) + 1; i < rings_.size(); ++i)
      sides_[i] = sides(rings_[i]);
  }

  // Of the side towards the camera, about the part's axis, on the face.
  double near_radius(const InnerRing& foot) const {
    const double s = camera_.scale_at(part_.face_mm);
    const Eigen::Vector2d c = seen_at(part_.face_mm);
    std::vector<double> radii;
    for (const RingEdge& e : foot.edges)
      if ((e.edge->at - c).dot(part_.center - camera_.foot) < 0 && is_face(e.edge->outside))
        radii.push_back((e.edge->at - c).norm() / s);
    return radii.empty() ? foot.radius_mm : median(radii);
  }

  // A rim and, within it, a ring that holds the face again at the same height.
  void name_groove() {
    for (std::size_t o = 0; o < rings_.size(); ++o) {
      if (taken_[o] || !sides_[o].is_rim() || !at_face(rings_[o]) || rings_[o].cover < kLeastBoreCover)
        continue;
      for (std::size_t i = o + 1; i < rings_.size(); ++i) {
        if (taken_[i] || !sides_[i].holds_face() || !at_face(rings_[i]) || rings_[i].cover < kLeastBoreCover)
          continue;
        if (rings_[i].radius_mm < (1 - kGrooveWidth_ratio) * rings_[o].radius_mm) break;
        taken_[o] = taken_[i] = true;
        const double u = 2 * kUnresolved_blurs * blur_mm();
        add(EdgeRole::kGrooveOuterWall, measured_at(rings_[o], part_.face_mm), part_.u_face_mm, u);
        add(EdgeRole::kGrooveInnerWall, measured_at(rings_[i], part_.face_mm), part_.u_face_mm, u);
        return;
      }
    }
  }

  void name_bore() {
    for (std::size_t i = 0; i < rings_.size(); ++i) {
      const InnerRing& ring = rings_[i];
      if (taken_[i] || ring.radius_mm > kWidestBore_ratio * part_.radius_mm) continue;
      if (hub_ && ring.radius_mm > 0.97 * hub_->radius_mm) continue;
      if (!is_bore(i) || !measure_bore(i)) continue;
      taken_[i] = true;
      bore_ = &ring;
      return;
    }
  }

  // Above the face: in a hub whose own rim is not seen.
  bool opens_higher(const InnerRing& ring) const {
    return ring.rms_px < kMostHigherRms_px &&
           ring.height_mm - part_.face_mm >
               std::max(kUnseenHub_mm, kUnseenHubInU * std::hypot(ring.u_height_mm, part_.u_face_mm));
  }

  // Height of the face that the bore opens in: the part's, told, or a hub's, from both its own rim and the bore's.
  Estimate rim_height(const InnerRing& ring) const {
    if (!hub_ && opens_higher(ring)) return {ring.height_mm, u_height(ring)};
    if (!hub_) return {part_.face_mm, part_.u_face_mm};
    if (hub_->u_height_mm > kNoHeight_mm) return {part_.face_mm + kUsualHub_mm, 1.0};
    const double a = 1 / std::pow(ring.u_height_mm, 2), b = 1 / std::pow(2 * hub_->u_height_mm, 2);
    const double z = (a * ring.height_mm + b * hub_->height_mm) / (a + b);
    return {std::max(z, part_.face_mm), u_height(ring)};
  }

  bool measure_bore(std::size_t i) {
    const InnerRing& ring = rings_[i];
    const Estimate top = rim_height(ring);
    const bool at_top =
        std::abs(ring.height_mm - (hub_ ? hub_->height_mm : top.value)) <
        std::max(kSameHeight_mm, 3 * std::hypot(ring.u_height_mm, hub_ ? hub_->u_height_mm : 0, top.u));
    const double whole = ring.cover * sides_[i].face_outside;
    InnerRing rim = ring;
    std::erase_if(rim.edges, [&](const RingEdge& e) { return !is_face(e.edge->outside); });
    rim = measured_at(rim, top.value);
    if (const InnerRing* line = broken_to(i, rim)) {
      const double height = top.value - (rim.radius_mm - line->radius_mm);
      add(EdgeRole::kBore, measured_at(*line, height), std::hypot(top.u, 0.5 * (top.value - height)),
          2 * std::hypot(kUnresolved_blurs * blur_mm(), kRim_px / out_.rays.px_per_mm));
      return true;
    }
    const WallFit inner = hole_within(i, top.value, true);
    const double break_mm = rim.radius_mm - inner.wall.radius_mm;
    const bool broken =
        is_seen(inner) && break_mm > kLeastBreak_mm && break_mm < kMostBreak_mm && hole_is_inside(inner);
    const WallFit hole = broken ? inner : hole_within(i, top.value, false);
    const bool hole_seen = is_seen(hole);
    // Two readings of one edge: each may be the other's.
    const double apart_mm = 2 * std::abs(rim.radius_mm - hole.wall.radius_mm);
    const bool either = hole_seen && apart_mm < kEither_px / out_.rays.px_per_mm;
    const double u_other_mm = either ? kEitherShare * apart_mm : 0;
    const bool rim_fits = !hole_seen || rim.rms_px < kRimFits * hole.rms_px || rim.rms_px < kCleanRim_px;
    const double u_rim_mm = std::hypot(u_other_mm, u_of_rim_mm(ring, rim));
    if (at_top && whole > kWholeRim && !broken && rim_fits) {
      add(EdgeRole::kBore, rim, top.u, u_rim_mm);
      return true;
    }
    if (hole_seen) {
      InnerEdge edge;
      edge.role = EdgeRole::kBore, edge.fit = hole, edge.height_mm = top.value, edge.u_height_mm = top.u;
      const double u_break_mm = broken ? kUnresolved_blurs * blur_mm() : 0;
      edge.u_diameter_mm =
          std::hypot(std::hypot(2 * hole.wall.radius_mm / camera_.height_mm * top.u, at_top ? u_other_mm : 0),
                     2 * u_break_mm, 2 * kShadedGround_px / out_.rays.px_per_mm);
      out_.named.push_back(std::move(edge));
      return true;
    }
    if (!at_top) return false;
    add(EdgeRole::kBore, rim, top.u, u_rim_mm);
    return true;
  }

  // Of the diameter: the edge itself, a break of the rim too narrow to be seen, edges of more than one line.
  double u_of_rim_mm(const InnerRing& ring, const InnerRing& measured) const {
    const double missed_px = std::max(ring.rms_px, measured.rms_px),
                 scatter_px = missed_px > kCleanRim_px ? kScatterCosts * missed_px : 0;
    return std::hypot(std::hypot(kRim_px, scatter_px) / out_.rays.px_per_mm,
                      2 * kUnresolved_blurs * blur_mm());
  }

  // The line where a broken rim (chamfer, fillet) meets the bore itself: close within the rim, at its height less the
  // break's, darker within; a far rim lies lower. None where the rim is the more whole of the two.
  const InnerRing* broken_to(std::size_t i, const InnerRing& rim) const {
    for (std::size_t k = i + 1; k < rings_.size(); ++k) {
      const InnerRing& line = rings_[k];
      const double break_mm = rim.radius_mm - line.radius_mm;
      if (break_mm > kMostBreak_mm) return nullptr;
      if (break_mm < kLeastBreak_mm || line.cover < kWholeRim || line.cover < rings_[i].cover ||
          line.dark_inside_share < kOneSign || !(line.rms_px < kMostRms_px))
        continue;
      const double off_mm = line.height_mm - (rim.height_mm - break_mm);
      if (std::abs(off_mm) < std::max(kSameHeight_mm, 3 * std::hypot(line.u_height_mm, part_.u_face_mm)))
        return &line;
    }
    return nullptr;
  }

  // What is seen through both rims of a bore; `within`: without the ring itself, from the next one inside.
  WallFit hole_within(std::size_t i, double top, bool within) {
    WallShape through;
    through.top_mm = top, through.hole = true;
    std::size_t k = i;
    if (within) do
        ++k;
      while (k < rings_.size() && rings_[k].cover < kLeastBoreCover);
    if (k >= rings_.size() || rings_[k].radius_mm < 0.75 * rings_[i].radius_mm) return {};
    std::vector<std::pair<RayEdge*, double>> put_aside;
    if (within)
      for (const RingEdge& e : rings_[i].edges)
        for (RayEdge& ray_edge : out_.rays.rays[e.ray])
          if (&ray_edge == e.edge) put_aside.emplace_back(&ray_edge, ray_edge.weight), ray_edge.weight = 0;
    WallFit fit = fit_wall(out_.rays, camera_, {{rings_[k].center, rings_[k].radius_mm, 0.12}}, through);
    for (const auto& [edge, weight] : put_aside) edge->weight = weight;
    return fit;
  }

  // The edges of a hole whose rim is broken have the break outside them, not the face.
  bool hole_is_inside(const WallFit& hole) const {
    int face = 0;
    for (const ChosenEdge& c : hole.chosen) face += is_face(c.edge->outside);
    return face < 0.4 * static_cast<double>(hole.chosen.size());
  }

  // Far rims, and lines on the face.
  void name_rest() {
    for (std::size_t i = 0; i < rings_.size(); ++i) {
      const InnerRing& ring = rings_[i];
      if (taken_[i] || is_broken_edge(ring)) continue;
      const bool far_rim = bore_ && ring.height_mm < bore_->height_mm - kHubStands_mm &&
                           std::abs(ring.radius_mm / bore_->radius_mm - 1) < kSameBore_ratio;
      if (far_rim)
        add(EdgeRole::kFoot, ring, 0, 0);
      else if (sides_[i].is_line() && ring.cover > kLeastBoreCover && ring.rms_px < 0.4)
        add(EdgeRole::kMark, ring, 0, 0);
    }
  }

  const Picture& picture_;
  const MeasuringPlane& board_;
  const std::vector<float>& table_;
  const CameraPlace& camera_;
  const PartSeen& part_;
  InnerEdges out_;
  double off_mm_ = 0, face_light_ = 0;
  std::vector<InnerRing> rings_;
  std::vector<Sides> sides_;
  std::vector<bool> taken_;
  const InnerRing* hub_ = nullptr;
  const InnerRing* bore_ = nullptr;
};

}  // namespace

InnerEdges find_inner_edges(const Picture& picture, const MeasuringPlane& board,
                            const std::vector<float>& light_table, const CameraPlace& camera,
                            const PartSeen& part) {
  return Naming(picture, board, light_table, camera, part).run();
}

}  // namespace rondure
