#include "rondure/photo/side_outline.hpp"

#include <algorithm>
#include <cmath>

#include "photo/edge/edge_placing.hpp"
#include "photo/side/side_band.hpp"
#include "photo/tone/tone_spread.hpp"
#include "rondure/core/median.hpp"
#include "rondure/core/warning.hpp"

namespace rondure {
namespace {

// Where no reason stands: as side_band.cpp.
constexpr double kReach_px = 8;           // for blurs up to 1.4 px
constexpr double kReach_blurs = 5;        // wider for softer ones
constexpr double kClippedWarning = 0.01;  // share at full scale from which it is said; as for round edges
constexpr std::size_t kLeastPoints = 40;  // half of the steps round the smallest part (silhouette.cpp: 40 px)
constexpr double kLeastPlaced_ratio = 0.6;  // of the outline

Result<SideOutline> in_part_plane(const EdgeBand& band, const PlacedEdge& placed, const MeasuringPlane& plane,
                                  bool dark) {
  SideOutline out;
  const double offset_px = (dark ? 1 : -1) * plane.edge_offset_px;
  double scale_sum = 0;
  for (const PlacedSector& s : placed.sectors) {
    const Sector& sector = band.sectors[s.sector];
    const Eigen::Vector2d px = sector.at + (s.displacement_px + offset_px) * sector.outward;
    const PixelPoint pixel{px.x(), px.y()};
    const auto at = part_from_pixel(plane, pixel);
    const auto j = part_per_pixel(plane, pixel);
    if (!at || !j) continue;
    // A line's normal goes over by the inverse transposed map.
    const Eigen::Vector2d along = *j * Eigen::Vector2d(-sector.outward.y(), sector.outward.x());
    Eigen::Vector2d outward(-along.y(), along.x());
    outward.normalize();
    const Eigen::Vector2d step = *j * sector.outward;
    if (outward.dot(step) < 0) outward = -outward;
    const double mm_per_px = outward.dot(step);
    if (!(mm_per_px > 0)) continue;
    scale_sum += 1 / mm_per_px;
    out.points.push_back({{*at, s.sigma_px * mm_per_px, 0}, outward, pixel});
  }
  if (out.points.size() < kLeastPoints)
    return Error{ErrorCode::kNoAnswer, "found an outline whose edge can be placed at " +
                                           std::to_string(out.points.size()) + " points, needed " +
                                           std::to_string(kLeastPoints) + " or more"};
  out.px_per_mm = scale_sum / static_cast<double>(out.points.size());
  out.blur_px = placed.blur_px, out.clipped_share = placed.clipped_share;
  out.light_inside = dark ? placed.dark_light : placed.bright_light;
  out.light_outside = dark ? placed.bright_light : placed.dark_light;
  return out;
}

}  // namespace

Result<SideOutline> find_side_outline(const Picture& picture, const MeasuringPlane& plane, bool linear_light,
                                      const std::vector<Circle>& passed_over) {
  ToneCurve tone = plane.tone;
  if (linear_light) tone = {.linear = true};
  const std::vector<float> table = tone.light_table(picture.bits);
  const auto silhouette = find_silhouette(picture, plane, table, passed_over);
  if (!silhouette) return silhouette.error();
  EdgeBand band = cut_side_band(picture, table, *silhouette, kReach_px);
  PlacedEdge placed = place_edge(band, silhouette->dark);
  if (kReach_blurs * placed.blur_px > kReach_px + 0.5) {
    band = cut_side_band(picture, table, *silhouette, kReach_blurs * placed.blur_px + 1);
    placed = place_edge(band, silhouette->dark);
  }
  auto out = in_part_plane(band, placed, plane, silhouette->dark);
  if (!out) return out;
  if (static_cast<double>(out->points.size()) < kLeastPlaced_ratio * band.sectors_around)
    return Error{
        ErrorCode::kNoAnswer,
        "found an outline of which " +
            std::to_string(100 * out->points.size() / static_cast<std::size_t>(band.sectors_around)) +
            " % is a clear edge, needed 60 % or more: light the ground behind the part, not the part"};
  double u_px = plane.u_edge_offset_px;
  if (!plane.tone_known && u_px == 0 && !tone.linear)
    u_px = tone_spread_px(tone, placed.dark_light, placed.bright_light, placed.blur_px);
  if (placed.clipped_share > kClippedWarning) {
    const double shift_px = std::abs(placed.clipping_shift_px);
    u_px = std::hypot(u_px, std::max({0.3 * shift_px, 2 * placed.u_clipping_px, 0.05}));
    out->warnings.push_back(
        {WarningCode::kClippedLight, "the light behind the part is over-exposed (" +
                                         std::to_string(static_cast<int>(100 * placed.clipped_share)) +
                                         " % of it beside the edge at full scale): expose less"});
  }
  out->u_edge_offset_mm = u_px / out->px_per_mm;
  return out;
}

}  // namespace rondure
