#include "rondure/making/speed.hpp"

#include <algorithm>
#include <cmath>

#include "csv_table.hpp"

namespace rondure::plan {
namespace {

double cross(const PartPoint& o, const PartPoint& a, const PartPoint& b) {
  return (a.x_mm - o.x_mm) * (b.y_mm - o.y_mm) - (a.y_mm - o.y_mm) * (b.x_mm - o.x_mm);
}

// Andrew's monotone chain, counter-clockwise, no repeated point.
std::vector<PartPoint> convex_hull(std::span<const PartPoint> outline) {
  std::vector<PartPoint> points(outline.begin(), outline.end());
  std::sort(points.begin(), points.end(), [](const PartPoint& a, const PartPoint& b) {
    return a.x_mm < b.x_mm || (a.x_mm == b.x_mm && a.y_mm < b.y_mm);
  });
  std::vector<PartPoint> hull;
  const auto chain = [&](auto first, auto last, std::size_t base) {
    for (auto p = first; p != last; ++p) {
      while (hull.size() >= base + 2 && cross(hull[hull.size() - 2], hull.back(), *p) <= 0) hull.pop_back();
      hull.push_back(*p);
    }
    if (!hull.empty()) hull.pop_back();
  };
  chain(points.begin(), points.end(), 0);
  chain(points.rbegin(), points.rend(), hull.size());
  return hull;
}

std::vector<double> support_of_hull(const std::vector<PartPoint>& hull, int count) {
  std::vector<double> p(static_cast<std::size_t>(count));
  const auto along = [&](std::size_t i, double c, double s) { return hull[i].x_mm * c + hull[i].y_mm * s; };
  std::size_t at = 0;
  for (std::size_t i = 1; i < hull.size(); ++i)
    if (hull[i].x_mm > hull[at].x_mm) at = i;
  for (int k = 0; k < count; ++k) {
    const double psi = 2 * kPi * k / count, c = std::cos(psi), s = std::sin(psi);
    for (std::size_t moved = 0; moved < hull.size();
         ++moved) {  // the touching point runs round with the direction
      const std::size_t next = (at + 1) % hull.size();
      if (along(next, c, s) < along(at, c, s)) break;
      at = next;
    }
    p[static_cast<std::size_t>(k)] = along(at, c, s);
  }
  return p;
}

double perimeter_mm(const std::vector<PartPoint>& hull) {
  double sum = 0;
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const PartPoint &a = hull[i], &b = hull[(i + 1) % hull.size()];
    sum += std::hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
  }
  return sum;
}

bool inside(double angle_deg, const ExcludedSector& sector) {
  double turn = std::fmod(angle_deg - sector.from_deg, 360.0);
  if (turn < 0) turn += 360;
  return turn <= sector.to_deg - sector.from_deg;
}

std::vector<HarmonicResult> significant_harmonics(const Feature& feature) {
  std::vector<HarmonicResult> out;
  for (const HarmonicResult& h : feature.harmonics)
    if (h.upr >= 2 && (!h.u_amplitude_mm || h.amplitude_mm > 2 * *h.u_amplitude_mm)) out.push_back(h);
  const bool listed = !feature.harmonics.empty();
  if (!listed && feature.ellipse && feature.ellipse->ovality_mm > 0 &&
      feature.ellipse->p_round.value_or(0) < 0.05)
    out.push_back({2, feature.ellipse->ovality_mm / 4, feature.ellipse->major_angle_deg.value_or(0), {}});
  return out;
}

}  // namespace

std::vector<double> support_mm(std::span<const PartPoint> outline, int count) {
  return support_of_hull(convex_hull(outline), count);
}

Result<SpeedEffect> speed_effect(std::span<const PartPoint> outline, double belt_thickness_mm) {
  if (!(belt_thickness_mm >= 0))
    return Error{ErrorCode::kBadArgument, "needed a belt thickness of 0 or more"};
  const auto hull = convex_hull(outline);
  if (hull.size() < 3) return Error{ErrorCode::kTooFewPoints, "an outline needs 3 points or more"};
  constexpr int kDirections = 3600;  // tenths of a degree: a crest is missed by 4e-7 of the radius at most
  const auto p = support_of_hull(hull, kDirections);
  if (*std::min_element(p.begin(), p.end()) <= 0)
    return Error{ErrorCode::kBadArgument, "the axis of rotation lies outside the outline"};
  SpeedEffect e;
  const double perimeter = perimeter_mm(hull);
  e.circumference_diameter_mm = perimeter / kPi;
  e.running_diameter_mm = e.circumference_diameter_mm + belt_thickness_mm;
  const double mean = e.running_diameter_mm / 2;
  const auto ratio = [&](double support) { return (support + belt_thickness_mm / 2) / mean - 1; };
  e.fastest_ratio = ratio(*std::max_element(p.begin(), p.end()));
  e.slowest_ratio = ratio(*std::min_element(p.begin(), p.end()));
  e.peak_ratio = (e.fastest_ratio - e.slowest_ratio) / 2;
  double square = 0;
  for (const double v : p) square += ratio(v) * ratio(v);
  e.rms_ratio = std::sqrt(square / kDirections);
  for (int n = 1; n <= 12; ++n) {
    double c = 0, s = 0;
    for (int k = 0; k < kDirections; ++k) {
      const double angle = 2 * kPi * n * k / kDirections;
      c += p[static_cast<std::size_t>(k)] * std::cos(angle);
      s += p[static_cast<std::size_t>(k)] * std::sin(angle);
    }
    e.harmonics.push_back({n, std::hypot(c, s) * 2 / kDirections / mean});
  }
  return e;
}

Result<std::vector<PartPoint>> outline_of(const Feature& feature, PartPoint axis_from_center, int count) {
  if (!feature.circle || !(feature.circle->diameter_mm > 0))
    return Error{ErrorCode::kNoAnswer, "the feature '" + feature.name + "' has no measured circle"};
  const auto harmonics = significant_harmonics(feature);
  std::vector<PartPoint> points;
  points.reserve(static_cast<std::size_t>(count));
  for (int k = 0; k < count; ++k) {
    const double angle_deg = 360.0 * k / count, t = rad(angle_deg);
    double r = feature.circle->diameter_mm / 2;
    for (const HarmonicResult& h : harmonics) r += h.amplitude_mm * std::cos(h.upr * (t - rad(h.phase_deg)));
    const auto sector = std::find_if(feature.excluded.begin(), feature.excluded.end(),
                                     [&](const ExcludedSector& x) { return inside(angle_deg, x); });
    if (sector != feature.excluded.end()) {
      if (sector->height_mm < 0) continue;
      r += sector->height_mm;
    }
    points.push_back({r * std::cos(t) - axis_from_center.x_mm, r * std::sin(t) - axis_from_center.y_mm});
  }
  if (points.size() < 3) return Error{ErrorCode::kNoAnswer, "all of '" + feature.name + "' is excluded"};
  return points;
}

PlannedSpeed planned_speed(double intended_mm, Interval limits_mm, double run_out_mm, double roundness_mm,
                           double belt_thickness_mm) {
  const double running = intended_mm + belt_thickness_mm;
  PlannedSpeed s;
  s.mean_error_ratio = {(limits_mm.lo - intended_mm) / running, (limits_mm.hi - intended_mm) / running};
  s.eccentric_ratio = run_out_mm / running;
  s.form_ratio = roundness_mm / running;  // an oval in the zone: Dmax - Dmin = 2 roundness
  s.peak_ratio = s.eccentric_ratio + s.form_ratio;
  return s;
}

SpeedTolerances tolerances_for_speed(double diameter_mm, double belt_thickness_mm, double speed_error_ratio,
                                     double variation_ratio) {
  const double running = diameter_mm + belt_thickness_mm;
  return {speed_error_ratio * running, variation_ratio * running / 2, variation_ratio * running / 2};
}

std::optional<double> audible_weight(double rate_hz) {
  const CsvTable& table = CsvTable::builtin("wow_flutter_weighting.csv");
  for (std::size_t i = 0; i + 1 < table.rows(); ++i) {
    const double a = table.number(i, "Hz"), b = table.number(i + 1, "Hz");
    if (!(a <= rate_hz && rate_hz <= b)) continue;
    const double share = std::log(rate_hz / a) / std::log(b / a);
    const double db = table.number(i, "dB") * (1 - share) + table.number(i + 1, "dB") * share;
    return std::pow(10, db / 20);
  }
  return std::nullopt;
}

}  // namespace rondure::plan
