#include "eccentricity.hpp"

#include <fmt/format.h>

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

// Standard: breaks of 0 to 0.8 mm, chamfered or rounded (common practice, no source), seen anywhere on them.
constexpr double kRimBreak_mm = 0.25;
constexpr double kUseless_mm = 0.1;  // an uncertainty that leaves no answer for a turning part

struct Placed {
  Eigen::Vector2d center = Eigen::Vector2d::Zero();
  double radius_mm = 0;
};

// The circle of `plane` as the same pixels lie in `other`: middle and mean radius.
std::optional<Placed> placed_in(const PlaneGeometry& other, const PlaneGeometry& plane,
                                const Circle& circle) {
  constexpr int kPoints = 24;  // round the rim: a mean of smooth shifts, exact up to order 23
  std::vector<Eigen::Vector2d> points;
  Placed out;
  for (int i = 0; i < kPoints; ++i) {
    const double a = 2 * std::numbers::pi * i / kPoints;
    const auto px = pixel_from_part(
        plane,
        PartPoint::from(circle.center.vec() + circle.radius_mm * Eigen::Vector2d(std::cos(a), std::sin(a))));
    if (!px) return std::nullopt;
    const auto at = part_from_pixel(other, *px);
    if (!at) return std::nullopt;
    points.push_back(at->vec());
    out.center += at->vec() / kPoints;
  }
  for (const Eigen::Vector2d& p : points) out.radius_mm += (p - out.center).norm() / kPoints;
  return out;
}

// Of a centre, from the budget's lines of the fit: radius u of the fit, times sqrt 2 for a full circle's centre.
double u_of_fit_mm(const Feature& feature) {
  double sum = 0;
  for (const BudgetLine& line : feature.budget)
    if (of_the_fit(line.source)) sum += line.u_mm * line.u_mm / 4;  // of the radius
  return std::sqrt(2 * sum);
}

double u_of_lens_mm(const MeasuringPlane& plane, const Circle& inner, const Circle& outer) {
  if (!plane.bent) return 0;
  const auto a = placed_in(*plane.bent, plane, inner), b = placed_in(*plane.bent, plane, outer);
  if (!a || !b) return 0;
  return (a->center - b->center - (inner.center.vec() - outer.center.vec())).norm();
}

// Where a circle is seen when it stands 1 mm higher: aside by 1 / H of its distance from the camera's foot, larger by
// 1 / H.
struct Raised {
  double aside_mm = 0, larger_ratio = 0;
};
std::optional<Raised> raised(const MeasuringPlane& plane, const Circle& circle) {
  const auto higher = at_height(plane, plane.height_mm + 1, 0);
  if (!higher) return std::nullopt;
  const auto seen = placed_in(*higher, plane, circle);
  if (!seen) return std::nullopt;
  return Raised{(seen->center - circle.center.vec()).norm(),
                std::abs(1 - seen->radius_mm / circle.radius_mm)};
}

// The edge's own height is in doubt by what its size is in doubt for it. None: in doubt, and this view does not show how far
// away the camera stood.
std::optional<double> u_of_own_height_mm(const MeasuredEdge& edge, const MeasuringPlane& plane) {
  double u_mm = 0;
  for (const BudgetLine& line : edge.feature.budget)
    if (line.source == UncertaintySource::kHeight) u_mm = std::hypot(u_mm, line.u_mm);
  if (!(u_mm > 0)) return 0.0;
  const auto up = raised(plane, edge.circle);
  if (!up || !(up->larger_ratio > 0)) return std::nullopt;
  return u_mm / (2 * edge.circle.radius_mm) / up->larger_ratio * up->aside_mm;
}

// The outside of a standing part is seen somewhere on its rim's break.
double u_of_break_mm(const MeasuredEdge& outer, const MeasuringPlane& plane) {
  if (!outer.edge->wall) return 0;
  const auto up = raised(plane, outer.circle);
  return up ? kRimBreak_mm * up->aside_mm : 0;
}

constexpr double kInch_mm = 25.4;

// Decimals that show two figures of u, `least` at least.
int decimals_for(double u, int least) {
  constexpr int kMost = 9;  // picometres: an uncertainty of nothing asks for no more
  return u > 0 ? std::clamp(1 - static_cast<int>(std::floor(std::log10(u))), least, kMost) : least;
}

// "0.002521 +- 0.000011 in", for who works in inches: as many decimals as the uncertainty needs.
std::string in_inch(double mm, int decimals, double u_mm = 0) {
  std::string text = fmt::format("{:.{}f}", mm / kInch_mm, decimals);
  if (u_mm > 0) text += fmt::format(" +- {:.{}f}", u_mm / kInch_mm, decimals);
  return text + " in";
}

}  // namespace

void add_eccentricity(std::vector<MeasuredEdge>& edges, const MeasuringPlane& plane, bool height_told) {
  for (MeasuredEdge& inner : edges) {
    const MeasuredEdge& outer = edges[static_cast<std::size_t>(inner.part)];
    if (&inner == &outer || inner.dropped || outer.dropped) continue;
    if (!inner.feature.circle || !outer.feature.circle) continue;
    const Eigen::Vector2d off = inner.feature.circle->center.vec() - outer.feature.circle->center.vec();
    const bool own_height = !height_told || inner.edge->u_height_mm;
    const auto u_height_mm = own_height ? u_of_own_height_mm(inner, plane) : 0.0;
    // A crescent of a bore's wall that is too thin to be seen takes as much off one side alone.
    const double u_wall_mm = inner.edge->ring ? inner.edge->ring->u_diameter_mm / 2 : 0;
    const double u_place_mm = std::hypot(u_of_lens_mm(plane, inner.circle, outer.circle),
                                         u_of_break_mm(outer, plane), u_height_mm.value_or(0));
    const double distance_mm = off.norm(),
                 u_mm = std::hypot(std::hypot(u_of_fit_mm(inner.feature), u_of_fit_mm(outer.feature)),
                                   u_place_mm, u_wall_mm);
    if (u_height_mm) inner.eccentricity_mm = Estimate{distance_mm, u_mm};
    if (!u_height_mm || (!height_told && u_mm > std::max(kUseless_mm, distance_mm))) {
      const std::string u_text = u_height_mm ? fmt::format(" (+- {:.1f} mm)", u_mm) : "";
      inner.feature.warnings.insert(
          inner.feature.warnings.begin(),
          {WarningCode::kEccentricity,
           fmt::format(
               "how far off the centre of {} it lies cannot be told{}: the heights of the two rims are "
               "not told",
               outer.feature.name, u_text)});
      continue;
    }
    const int decimals = decimals_for(u_mm, 4), decimals_in = decimals_for(u_mm / kInch_mm, 5);
    std::string text = fmt::format("{:.{}f}", distance_mm, decimals);
    if (u_mm > 0) text += fmt::format(" +- {:.{}f}", u_mm, decimals);
    const double printed_mm = std::stod(text);  // twice what is printed, not twice what was rounded
    text += fmt::format(" mm ({}) off the centre of {}", in_inch(printed_mm, decimals_in, u_mm),
                        outer.feature.name);
    if (distance_mm > 2 * u_mm)
      text += fmt::format(", towards {:.0f} deg", deg(wrap_direction_rad(std::atan2(off.y(), off.x()))));
    const double coaxiality_mm = 2 * printed_mm;
    text += fmt::format(" (coaxiality as in ISO 1101: {:.{}f} mm, {})", coaxiality_mm, decimals,
                        in_inch(coaxiality_mm, decimals_in));
    inner.feature.warnings.insert(inner.feature.warnings.begin(), {WarningCode::kEccentricity, text});
  }
}

}  // namespace rondure
