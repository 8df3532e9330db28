// find_round_edges: reduced picture -> edge chains -> circles of the part plane -> bands of samples -> placed
// points.
#include "rondure/photo/round_edges.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <optional>

#include "photo/edge/algebraic_circle.hpp"
#include "photo/edge/coarser_looks.hpp"
#include "photo/edge/edge_band.hpp"
#include "photo/edge/edge_chains.hpp"
#include "photo/edge/edge_clipping.hpp"
#include "photo/edge/edge_harmonics.hpp"
#include "photo/edge/edge_placing.hpp"
#include "photo/edge/edge_window.hpp"
#include "photo/edge/round_candidates.hpp"
#include "photo/edge/short_arcs.hpp"
#include "photo/edge/student_fit.hpp"
#include "photo/tone/tone_evidence.hpp"
#include "photo/tone/tone_spread.hpp"
#include "rondure/core/median.hpp"
#include "rondure/core/parallel.hpp"
#include "rondure/core/warning.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement; what comes of them all is checked by
// tests/bench/study_photo_parts, study_photo_scenes and study_edge_discs.
constexpr double kLeastCoverage_deg = 35;  // of placed points
// A short arc alone: 20 degrees, less what its corners hide; its points miss their circle, in the median, by no more than
// that, or so many times their own noise (a normal law's median is 0.67).
constexpr double kLeastShort_deg = 17, kCleanMiss_px = 0.05, kCleanMiss_noise = 2, kShortReach_px = 12;
constexpr int kShortMostSectors = 4000;  // of a whole turn: 2 px each up to 1270 px of radius
constexpr double kSoftestBlur_px = 5;    // softer edges than this and four times the sharpest are shadows
constexpr double kMostOutOfRound_ratio = 0.02;  // of the radius, median over the outline
// After a first look: so many times what a round edge may miss its circle by; or so near another edge.
constexpr double kClearlyOff = 3, kSureTwin_px = 0.2;
constexpr double kClippedWarning = 0.01;  // share of clipped pixels from which it is said; by judgement
// JPEG whose bright side is not all clipped: standard uncertainty of what is taken off, px at blurs to 1
// (measured, white at full scale, JPEG 95 to 75); beyond: u_jpeg_clipping_px.
constexpr double kBarelyClippedJpeg_px = 0.1, kBarelyClippedShare = 0.6;
// What the curvature correction leaves, of it: in blurs over the radius, and at most (measured: R 10 to 40,
// blur 2).
constexpr double kBendLeft = 0.7, kMostBendLeft = 0.08;
// On a board, standard uncertainty (measured: tests/bench/study_photo_scenes, rows 8 and 9): JPEG lets the
// squares' sides ring as far as the edge.
constexpr double kOverSquares_share = 0.05, kOverSquares_px = 0.02, kOverSquaresJpeg_px = 0.1;
// A smaller arc across another outline, so much smaller and no more than this of its circle, is a chip or nib
// there.
constexpr double kMarkRadius_ratio = 0.35, kMarkCoverage_deg = 270;
constexpr double kMostReach_ratio = 0.8;  // of the band either side, of the radius
constexpr double kSameOutline_px = 0.7;   // as near is one, whichever side is dark
// Standard uncertainty of the radius of an outline that only a coarser look shows, in that look's pixels. By judgement; checked on
// five photographs of coins (tests/bench/solid_scenes/study_coins: 66 of 69 held, wrong rings among them).
constexpr double kCoarse_reductions = 0.5;
constexpr double kMostTilted_ratio = 0.06;  // second harmonic, of the radius: 28 degrees of tilt
constexpr int kToneRounds = 3;              // at most: edge and curve settle sooner
constexpr double kToneSettled_px = 0.002;  // a curve that moves the edge by less is not worth placing it anew

std::string text(const char* format, double a, double b = 0) {
  char buffer[256];
  std::snprintf(buffer, sizeof buffer, format, a, b);
  return buffer;
}

double median_sigma_px(const PlacedEdge& placed) {
  std::vector<double> sigmas;
  for (const PlacedSector& s : placed.sectors) sigmas.push_back(s.sigma_px);
  return median(std::move(sigmas));
}

// Median distance of the points from their circle.
double typical_miss_mm(const std::vector<MeasuredPoint>& points, const Circle& circle) {
  std::vector<double> misses;
  for (const MeasuredPoint& p : points)
    misses.push_back(std::abs((p.at.vec() - circle.center.vec()).norm() - circle.radius_mm));
  return median(std::move(misses));
}

// Likewise from an ellipse near it, where there is one that a tilted camera may see.
double typical_miss_of_ellipse_mm(const std::vector<MeasuredPoint>& points, const Circle& circle,
                                  double least_scale_mm) {
  const double from_circle_mm = typical_miss_mm(points, circle);
  using Row = Eigen::Matrix<double, 5, 1>;
  std::vector<Row> rows;
  std::vector<double> off_mm;
  for (const MeasuredPoint& p : points) {
    const Eigen::Vector2d d = p.at.vec() - circle.center.vec(), u = d.normalized();
    rows.push_back({1, u.x(), u.y(), u.x() * u.x() - u.y() * u.y(), 2 * u.x() * u.y()});
    off_mm.push_back(d.norm() - circle.radius_mm);
  }
  const Row fit = student_fit(rows, off_mm, std::max(2 * from_circle_mm, least_scale_mm), least_scale_mm);
  if (fit.tail<2>().norm() > kMostTilted_ratio * circle.radius_mm) return from_circle_mm;
  for (std::size_t i = 0; i < rows.size(); ++i) off_mm[i] = std::abs(off_mm[i] - rows[i].dot(fit));
  return median(std::move(off_mm));
}

struct Placed {
  RoundEdge edge;
  Circle circle, aim;  // part plane: through the points, and the one that they were looked for along
  double u_blur_px = 0;
  RoundCandidate candidate;
};

class EdgeFinder {
public:
  EdgeFinder(const Picture& picture, const MeasuringPlane& plane, const EdgeOptions& options)
      : picture_(picture), plane_(plane), options_(options) {
    tone_ = plane.tone;
    if (options.linear_light) tone_.linear = true;
    table_ = tone_.light_table(picture.bits);
  }

  Result<std::vector<RoundEdge>> run() {
    const EdgeChains chains = find_edge_chains(picture_);
    fine_reduction_ = chains.reduction;
    const RoundSearch search = find_round_candidates(chains, plane_, options_.min_diameter_px);
    std::vector<RoundCandidate> wanted = near_ones(candidates_of(search));
    std::vector<Placed> placed(wanted.size());
    const auto aim = [&](int i) {
      const Circle& circle = wanted[i].circle;
      return Aim{circle, first_reach_px(wanted[i], circle)};
    };
    in_parallel(static_cast<int>(wanted.size()),
                [&](int i) { placed[i] = place_once(wanted[i], aim(i), tone_, table_); });
    const std::vector<int> again = worth_another_look(placed);
    in_parallel(static_cast<int>(again.size()), [&](int k) {
      const int i = again[k];
      place_again(wanted[i], aim(i), tone_, table_, placed[i]);
    });
    // Weighing tone curves is for those that may stay.
    placed = keep_sound(std::move(placed));
    in_parallel(static_cast<int>(placed.size()), [&](int i) { settle_tone(placed[i]); });
    std::vector<RoundEdge> edges = finished(keep_sound(std::move(placed)));
    if (edges.empty() && !options_.near) edges = short_arcs(chains);
    if (!edges.empty()) return edges;
    return Error{ErrorCode::kNoRoundEdge, what_was_found(search, wanted.size())};
  }

private:
  // Where no outline is seen over 35 degrees: clean arcs of less. A short one is taken for a circle only when nothing
  // but noise keeps its points off it.
  std::vector<RoundEdge> short_arcs(const EdgeChains& chains) const {
    const std::vector<ShortArc> found = find_short_arcs(chains, plane_);
    std::vector<Placed> placed(found.size());
    in_parallel(static_cast<int>(found.size()), [&](int i) {
      placed[i] = place_arc(found[i], found[i].candidate.circle);
      if (placed[i].edge.points.size() >= 12) placed[i] = place_arc(found[i], placed[i].circle);
      const RoundEdge& edge = placed[i].edge;
      const double miss_px = typical_miss_mm(edge.points, placed[i].circle) * edge.px_per_mm;
      const bool clean = edge.points.size() >= 12 && edge.coverage_deg >= kLeastShort_deg &&
                         miss_px < std::max(kCleanMiss_px, kCleanMiss_noise * edge.noise_px);
      if (!clean) placed[i] = {};
    });
    return finished(keep_sound(std::move(placed), kLeastShort_deg));
  }

  // Only the sectors of what is seen: beyond its ends other edges may run near the circle.
  Placed place_arc(const ShortArc& arc, const Circle& circle) const {
    EdgeBand band = cut_edge_band(picture_, plane_, table_, circle, kShortReach_px, kShortMostSectors);
    std::erase_if(band.sectors, [&](const Sector& sector) {
      const auto at = part_from_pixel(plane_, {sector.at.x(), sector.at.y()});
      if (!at) return true;
      const Eigen::Vector2d d = at->vec() - circle.center.vec();
      return wrap_direction_rad(std::atan2(d.y(), d.x()) - arc.from_rad) > arc.to_rad - arc.from_rad;
    });
    return placed_from(band, arc.candidate, circle, tone_);
  }

  std::vector<RoundCandidate> candidates_of(const RoundSearch& search) const {
    if (plane_.board_squares) return search.found;
    return with_coarser_looks(picture_, plane_, fine_reduction_, options_.min_diameter_px, search.found);
  }

  // Circles that enclose the point, and what lies inside the smallest of them.
  std::vector<RoundCandidate> near_ones(const std::vector<RoundCandidate>& found) const {
    if (!options_.near) return found;
    const auto at = part_from_pixel(plane_, *options_.near);
    if (!at) return {};
    const auto encloses = [](const Circle& c, const Eigen::Vector2d& p) {
      return (p - c.center.vec()).norm() <= c.radius_mm;
    };
    const RoundCandidate* smallest = nullptr;
    for (const RoundCandidate& c : found)  // largest first
      if (encloses(c.circle, at->vec())) smallest = &c;
    std::vector<RoundCandidate> kept;
    if (!smallest) return kept;
    for (const RoundCandidate& c : found)
      if (encloses(c.circle, at->vec()) || encloses(smallest->circle, c.circle.center.vec()))
        kept.push_back(c);
    return kept;
  }

  double jpeg_step() const {
    double sum = 0;
    for (const std::uint16_t step : picture_.jpeg_steps) sum += step;
    return sum / static_cast<double>(picture_.jpeg_steps.size());
  }

  // Placed anew where a board in the picture says that the tone curve is another than the assumed one.
  void settle_tone(Placed& placed) const {
    if (!plane_.board_edges || tone_.linear || placed.edge.clipped_share > kClippedWarning) return;
    ToneCurve with = tone_;
    double beyond_px = 0, u_px = 0;
    for (int round = 0; round < kToneRounds && placed.edge.points.size() >= 12; ++round) {
      const RoundEdge& edge = placed.edge;
      const auto [lo, hi] = std::minmax(edge.light_inside, edge.light_outside);
      const PartEdge part{with, {lo, hi, edge.blur_px}, placed.u_blur_px, plane_.height_mm != 0};
      const ToneFinding finding = weigh_tone_curves(tone_, *plane_.board_edges, part, jpeg_step());
      beyond_px = finding.beyond_px, u_px = finding.u_edge_px;
      if (std::abs(finding.moved_px) < kToneSettled_px) break;
      with = finding.curve;
      const RoundCandidate candidate = placed.candidate;
      placed = place(candidate, {placed.circle, first_reach_px(candidate, placed.circle)}, with,
                     with.light_table(picture_.bits));
    }
    if (!(placed.edge.px_per_mm > 0)) return;
    move_towards_bright(placed, beyond_px);
    placed.edge.u_edge_offset_mm = std::hypot(u_px, u_around_px(placed.edge)) / placed.edge.px_per_mm;
  }

  // By so little that the levels and the blur stay.
  static void move_towards_bright(Placed& placed, double by_px) {
    RoundEdge& edge = placed.edge;
    const double out_px = edge.dark_inside ? by_px : -by_px, out_mm = out_px / edge.px_per_mm;
    for (MeasuredPoint& p : edge.points) {
      const Eigen::Vector2d d = p.at.vec() - placed.circle.center.vec();
      p.at = PartPoint::from(p.at.vec() + out_mm * d.normalized());
    }
    for (PixelPoint& px : edge.pixels) {
      const Eigen::Vector2d at(px.x_px, px.y_px), d = at - edge.rough_px.center.vec();
      const Eigen::Vector2d moved = at + out_px * d.normalized();
      px = {moved.x(), moved.y()};
    }
    placed.circle.radius_mm += out_mm, edge.rough_px.radius_mm += out_px;
  }

  // Where to look for an edge.
  struct Aim {
    Circle circle;  // part plane
    double reach_px = 0;
  };

  static double first_reach_px(const RoundCandidate& candidate, const Circle& circle) {
    const double radius_px = circle.radius_mm * candidate.px_per_mm;
    return std::min(std::max({8.0, 3.0 * candidate.reduction + 4, 0.012 * radius_px + 4}) + 8,
                    kMostReach_ratio * radius_px);
  }

  // A better aim, when the last was off by enough to matter for small edges, or the edge is soft.
  std::optional<Aim> better_aim(const Aim& aim, const Placed& placed, const RoundCandidate& candidate) const {
    const double radius_px = aim.circle.radius_mm * candidate.px_per_mm;
    const double moved_px = apart_mm(placed.circle, aim.circle) * candidate.px_per_mm;
    const double wanted_px = std::min(kWindowBlurs * placed.edge.blur_px + 2, kMostReach_ratio * radius_px);
    if (moved_px < std::max(0.5, 0.002 * radius_px) && wanted_px <= aim.reach_px) return {};
    return Aim{placed.circle, std::max(aim.reach_px, wanted_px)};
  }

  // Of a square's outline or a scribble it is larger; of an out-of-round part not.
  static double most_miss_mm(const Placed& p) {
    return kMostOutOfRound_ratio * p.circle.radius_mm + 0.5 / p.edge.px_per_mm;
  }

  Placed place(const RoundCandidate& candidate, const Aim& first, const ToneCurve& tone,
               const std::vector<float>& table) const {
    Placed placed = place_once(candidate, first, tone, table);
    place_again(candidate, first, tone, table, placed);
    return placed;
  }

  // A tilted camera sees an ellipse; what a coarser picture shows may be one.
  double own_miss_mm(const Placed& p) const {
    constexpr double kLeastScale_px = 0.3;
    return is_coarse(p.candidate)
               ? typical_miss_of_ellipse_mm(p.edge.points, p.circle, kLeastScale_px / p.edge.px_per_mm)
               : typical_miss_mm(p.edge.points, p.circle);
  }

  bool is_coarse(const RoundCandidate& candidate) const { return candidate.reduction > fine_reduction_; }

  void place_again(const RoundCandidate& candidate, const Aim& first, const ToneCurve& tone,
                   const std::vector<float>& table, Placed& placed) const {
    if (placed.edge.points.size() < 12) return;
    if (const auto better = better_aim(first, placed, candidate))
      placed = place_once(candidate, *better, tone, table);
  }

  // All but what is clearly no round edge, or the very edge of one before; those are emptied.
  std::vector<int> worth_another_look(std::vector<Placed>& placed) const {
    std::vector<int> worth;
    for (int i = 0; i < static_cast<int>(placed.size()); ++i) {
      Placed& p = placed[i];
      const bool found = p.edge.points.size() >= 12;
      const double miss_ratio = found ? own_miss_mm(p) / most_miss_mm(p) : 0;
      const bool twin = found && std::any_of(worth.begin(), worth.end(), [&](int k) {
                          const Placed& other = placed[k];
                          return other.edge.dark_inside == p.edge.dark_inside &&
                                 apart_mm(other.circle, p.circle) * p.edge.px_per_mm < kSureTwin_px &&
                                 typical_miss_mm(other.edge.points, other.circle) < most_miss_mm(other);
                        });
      if (!found || twin || miss_ratio > kClearlyOff)
        p = {};
      else
        worth.push_back(i);
    }
    return worth;
  }

  static double apart_mm(const Circle& a, const Circle& b) {
    return (a.center.vec() - b.center.vec()).norm() + std::abs(a.radius_mm - b.radius_mm);
  }

  // With the circle through the points, where it is one much like the aim.
  Placed place_once(const RoundCandidate& candidate, const Aim& aim, const ToneCurve& tone,
                    const std::vector<float>& table) const {
    EdgeBand band = cut_edge_band(picture_, plane_, table, aim.circle, aim.reach_px);
    if (is_coarse(candidate)) expect_where_seen(band, plane_, candidate, aim.circle);
    return placed_from(band, candidate, aim.circle, tone);
  }

  Placed placed_from(const EdgeBand& band, const RoundCandidate& candidate, const Circle& aim,
                     const ToneCurve& tone) const {
    Placed out = carry_over(band, place_edge(band, candidate.dark_inside), aim, candidate, tone);
    out.candidate = candidate;
    std::vector<Eigen::Vector2d> p;
    for (const MeasuredPoint& m : out.edge.points) p.push_back(m.at.vec());
    const auto through = algebraic_circle(p);
    if (through && std::abs(through->radius_mm - aim.radius_mm) <= 0.2 * aim.radius_mm) out.circle = *through;
    return out;
  }

  Placed carry_over(const EdgeBand& band, const PlacedEdge& placed, const Circle& circle,
                    const RoundCandidate& candidate, const ToneCurve& tone) const {
    Placed out;
    out.circle = out.aim = circle;
    RoundEdge& edge = out.edge;
    edge.dark_inside = candidate.dark_inside;
    if (placed.sectors.empty()) return out;
    // Exposure offset of the plane's calibration: edges lie this far on the dark side.
    const double offset_px = (candidate.dark_inside ? 1 : -1) * plane_.edge_offset_px;
    double scale_sum = 0;
    for (const PlacedSector& s : placed.sectors) {
      const Sector& sector = band.sectors[s.sector];
      const Eigen::Vector2d px = sector.at + (s.displacement_px + offset_px) * sector.outward;
      const PixelPoint pixel{px.x(), px.y()};
      const auto at = part_from_pixel(plane_, pixel);
      const auto j = part_per_pixel(plane_, pixel);
      if (!at || !j) continue;
      const Eigen::Vector2d radial = (at->vec() - circle.center.vec()).normalized();
      const double mm_per_px = std::abs(radial.dot(*j * sector.outward));
      if (!(mm_per_px > 0)) continue;
      scale_sum += 1 / mm_per_px;
      edge.points.push_back({*at, s.sigma_px * mm_per_px, 0});
      edge.pixels.push_back(pixel);
    }
    if (edge.points.empty()) return out;
    edge.px_per_mm = scale_sum / static_cast<double>(edge.points.size());
    edge.blur_px = placed.blur_px;
    edge.clipped_share = placed.clipped_share;
    edge.clipping_shift_px = placed.clipping_shift_px;
    edge.light_inside = candidate.dark_inside ? placed.dark_light : placed.bright_light;
    edge.light_outside = candidate.dark_inside ? placed.bright_light : placed.dark_light;
    edge.noise_px = median_sigma_px(placed);
    edge.over_squares_share = static_cast<double>(band.over_squares) / band.sectors_around;
    edge.coverage_deg = 360.0 * static_cast<double>(edge.points.size()) / band.sectors_around;
    std::vector<Eigen::Vector2d> px;
    for (const PixelPoint& p : edge.pixels) px.emplace_back(p.x_px, p.y_px);
    if (const auto rough = algebraic_circle(px)) edge.rough_px = *rough;
    out.u_blur_px = placed.u_blur_px;
    add_uncertainty(edge, placed, tone);
    return out;
  }

  void add_uncertainty(RoundEdge& edge, const PlacedEdge& placed, const ToneCurve& tone) const {
    double u_px = plane_.u_edge_offset_px;
    if (!plane_.tone_known && u_px == 0 && !tone.linear)
      u_px = tone_spread_px(tone, placed.dark_light, placed.bright_light, placed.blur_px);
    if (placed.clipped_share > kClippedWarning) {
      const double shift_px = std::abs(placed.clipping_shift_px);
      double u_clipping_px = std::max({0.3 * shift_px, 2 * placed.u_clipping_px, 0.02});
      if (picture_.jpeg && placed.clipped_share < kBarelyClippedShare)
        u_clipping_px = std::max(u_clipping_px, kBarelyClippedJpeg_px * std::max(1.0, placed.blur_px));
      else if (picture_.jpeg)
        u_clipping_px = u_jpeg_clipping_px(picture_.jpeg_steps, {placed.dark_light, placed.bright_light, 0,
                                                                 placed.blur_px, placed.u_clipping_px});
      u_px = std::hypot(u_px, u_clipping_px);
      edge.warnings.push_back(
          {WarningCode::kClippedLight,
           text("the light beside this edge is over-exposed (%.0f %% of it at full scale): that moved the "
                "edge by about "
                "%.3f mm, which was taken off",
                100 * placed.clipped_share, shift_px / edge.px_per_mm) +
               text(", to within %.3f mm (one standard uncertainty); expose less", u_px / edge.px_per_mm)});
    }
    if (edge.over_squares_share > kOverSquares_share)
      edge.warnings.push_back({"on-the-board", text("the squares of the board run beside %.0f %% of this "
                                                    "edge, which was left out there; lay plain "
                                                    "white paper between part and board",
                                                    100 * edge.over_squares_share)});
    edge.u_edge_offset_mm = std::hypot(u_px, u_around_px(edge)) / edge.px_per_mm;
  }

  // What bends and surrounds the edge does to its place.
  double u_around_px(const RoundEdge& edge) const {
    const double squares_px = edge.over_squares_share > kOverSquares_share
                                  ? (picture_.jpeg ? kOverSquaresJpeg_px : kOverSquares_px)
                                  : 0;
    return std::hypot(u_bend_px(edge), squares_px);
  }

  // Small round edges: blur^2 / 2R is the first term only, and their levels are known from few pixels inside.
  static double u_bend_px(const RoundEdge& edge) {
    const double radius_px = edge.rough_px.radius_mm;  // in pixels
    if (!(radius_px > 0)) return 0;
    const double bend_px = edge.blur_px * edge.blur_px / (2 * radius_px);
    return bend_px * std::min(kMostBendLeft, kBendLeft * edge.blur_px / radius_px);
  }

  // A chip or nib of a larger outline: a short arc of a much smaller circle that crosses it.
  static bool is_mark_on(const Placed& mark, const Placed& outline) {
    const double apart_mm = (mark.circle.center.vec() - outline.circle.center.vec()).norm(),
                 r = mark.circle.radius_mm, outer = outline.circle.radius_mm;
    return r < kMarkRadius_ratio * outer && mark.edge.coverage_deg < kMarkCoverage_deg &&
           std::abs(apart_mm - outer) < r;
  }

  // Largest first; each outline once.
  std::vector<Placed> keep_sound(std::vector<Placed> placed, double least_deg = kLeastCoverage_deg) const {
    double sharpest = 1e9;
    for (const Placed& p : placed)
      if (p.edge.points.size() >= 12) sharpest = std::min(sharpest, p.edge.blur_px);
    std::vector<Placed> kept;
    for (Placed& p : placed) {
      RoundEdge& edge = p.edge;
      if (edge.points.size() < 12 || edge.coverage_deg < least_deg) continue;
      if (edge.blur_px > std::max(kSoftestBlur_px, 4 * sharpest)) continue;
      if (own_miss_mm(p) > most_miss_mm(p)) continue;
      const bool twin = std::any_of(kept.begin(), kept.end(), [&](const Placed& other) {
        return other.edge.dark_inside == edge.dark_inside &&
               apart_mm(other.circle, p.circle) * edge.px_per_mm <
                   std::max(2.0, 0.01 * p.circle.radius_mm * edge.px_per_mm);
      });
      // A part on a chessboard: dark against the white squares, light against the black ones, all one
      // outline.
      const auto reverse = std::find_if(kept.begin(), kept.end(), [&](const Placed& other) {
        const double miss_mm = std::min(typical_miss_mm(edge.points, other.circle),
                                        typical_miss_mm(other.edge.points, p.circle));
        return other.edge.dark_inside != edge.dark_inside && miss_mm * edge.px_per_mm < kSameOutline_px;
      });
      if (!twin && reverse != kept.end()) {
        const auto step = [](const RoundEdge& e) { return std::abs(e.light_outside - e.light_inside); };
        if (step(edge) > step(reverse->edge)) *reverse = std::move(p);
        continue;
      }
      if (!twin) kept.push_back(std::move(p));
    }
    std::sort(kept.begin(), kept.end(),
              [](const Placed& a, const Placed& b) { return a.circle.radius_mm > b.circle.radius_mm; });
    return kept;
  }

  // Which of several lines is the outline, a look that blurs them together cannot tell.
  void doubt_coarse(Placed& placed) const {
    if (!is_coarse(placed.candidate)) return;
    RoundEdge& edge = placed.edge;
    edge.u_edge_offset_mm =
        std::hypot(edge.u_edge_offset_mm, kCoarse_reductions * placed.candidate.reduction / edge.px_per_mm);
    edge.warnings.push_back(
        {"coarse-outline", text("this outline is clear only in the picture made %.0f times coarser: speckled "
                                "ground, glare or a tilted view; plain paper under the part and even light "
                                "would sharpen it",
                                placed.candidate.reduction)});
  }

  // With what only the edges that stay need to know.
  std::vector<RoundEdge> finished(std::vector<Placed> kept) const {
    for (Placed& placed : kept) doubt_coarse(placed);
    if (picture_.jpeg)
      in_parallel(static_cast<int>(kept.size()), [&](int i) {
        RoundEdge& edge = kept[i].edge;
        edge.u_second_harmonic_mm = shared_second_harmonic_mm(edge.points, kept[i].aim, edge.coverage_deg);
      });
    return without_marks(std::move(kept));
  }

  static std::vector<RoundEdge> without_marks(std::vector<Placed> kept) {
    std::vector<RoundEdge> edges;
    for (std::size_t i = 0; i < kept.size(); ++i) {
      const bool mark = std::any_of(kept.begin(), kept.begin() + static_cast<std::ptrdiff_t>(i),
                                    [&](const Placed& outline) { return is_mark_on(kept[i], outline); });
      if (!mark) edges.push_back(std::move(kept[i].edge));
    }
    return edges;
  }

  std::string what_was_found(const RoundSearch& search, std::size_t wanted) const {
    if (search.chains == 0)
      return "the picture shows no edges at all; needed: a part that stands out from its ground";
    std::string found = text("found %.0f edge lines and %.0f arcs among them, ", search.chains, search.arcs);
    if (options_.near && !search.found.empty() && wanted == 0)
      return found + text("%.0f round edges, but none around the point given by --near",
                          static_cast<double>(search.found.size()));
    return found +
           "none that follows a circle over 40 degrees, or cleanly over 20; needed: a round outline in "
           "focus, 16 px or more "
           "across";
  }

  const Picture& picture_;
  const MeasuringPlane& plane_;
  const EdgeOptions& options_;
  ToneCurve tone_;
  std::vector<float> table_;
  int fine_reduction_ = 1;
};

}  // namespace

Result<std::vector<RoundEdge>> find_round_edges(const Picture& picture, const MeasuringPlane& plane,
                                                const EdgeOptions& options) {
  if (picture.width_px != plane.width_px || picture.height_px != plane.height_px)
    return Error{ErrorCode::kCalibrationMismatch,
                 "the picture is " + std::to_string(picture.width_px) + " x " +
                     std::to_string(picture.height_px) + " px, the measuring plane was made for " +
                     std::to_string(plane.width_px) + " x " + std::to_string(plane.height_px)};
  return EdgeFinder(picture, plane, options).run();
}

}  // namespace rondure
