#include "rondure/measure/measure_profile.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/order_statistic.hpp"

namespace rondure {
namespace {

// An arc has three unknowns: five readings leave two degrees of freedom that tell of their scatter.
constexpr int kLeastReadings = 5, kNeighbours = 5;
constexpr double kFreedomEach = 0.25;   // degrees of freedom of the scatter, a reading
constexpr double kClearShare = 0.3;     // of the fives: surely not over a corner
constexpr double kChi2OfShare = 0.713;  // two degrees of freedom: 30 % lie below, -2 ln(1 - 0.3)

// Position and distance outwards, mm; an edge's from the lowest of them, so far above nought that it is no end.
std::vector<ProfilePointRZ> along_axis(const Readings& readings, const StageCalibration* stage) {
  const bool edge = *readings.profile == ProfileReading::kEdge;
  std::vector<ProfilePointRZ> out;
  double low = 1e300;
  for (const MeasuredPoint& m : readings.points) {
    const PartPoint at = stage && edge ? stage->part_from_stage({m.at.x_mm, m.at.y_mm}) : m.at;
    out.push_back(
        {at.x_mm, *readings.profile == ProfileReading::kDiameter ? at.y_mm / 2 : at.y_mm, m.sigma_mm});
    low = std::min(low, out.back().r_mm);
  }
  const double span = out.empty() ? 0 : std::abs(out.back().z_mm - out.front().z_mm);
  if (edge)
    for (ProfilePointRZ& p : out) p.r_mm += span - low;
  return out;
}

// What neighbours show of a reading's scatter across the profile.
double scatter_mm(const std::vector<ProfilePointRZ>& points) {
  std::vector<ProfilePointRZ> alike = points;
  for (ProfilePointRZ& p : alike) p.sigma_mm = 1;
  std::vector<double> chi2;
  for (int from = 0; from + kNeighbours <= static_cast<int>(points.size()); ++from)
    if (const auto arc = fit_curve(alike, from, from + kNeighbours - 1, true)) chi2.push_back(arc->chi2);
  if (chi2.empty()) return 0;
  const auto rank = static_cast<std::size_t>(kClearShare * static_cast<double>(chi2.size()));
  return std::sqrt(order_statistic(chi2, rank) / kChi2OfShare);
}

Result<void> check(const Readings& readings, const std::vector<ProfilePointRZ>& points) {
  if (static_cast<int>(points.size()) < kLeastReadings)
    return Error{ErrorCode::kTooFewPoints, "found " + std::to_string(points.size()) +
                                               " readings of a profile, needed " +
                                               std::to_string(kLeastReadings) + " or more"};
  double far = -1e300, step = 0;
  for (std::size_t i = 1; i < points.size(); ++i)
    step += std::abs(points[i].z_mm - points[i - 1].z_mm) / static_cast<double>(points.size() - 1);
  for (std::size_t i = 0; i < points.size(); ++i) {
    far = std::max(far, points[i].z_mm);
    if (far - points[i].z_mm > step)
      return Error{
          ErrorCode::kBadArgument,
          "--along: found reading " + std::to_string(i + 1) +
              " to the left of earlier ones, needed readings in the order of the profile, positions rising"};
    if (*readings.profile != ProfileReading::kEdge && points[i].r_mm < 0)
      return Error{ErrorCode::kBadArgument,
                   "--along: found a radius below 0, needed distances from the axis"};
  }
  return {};
}

// An edge is read from anywhere: what hangs on the axis cannot be told.
void forget_axis(SideProfile& profile) {
  for (ProfileSegment& s : profile.segments) {
    s.diameter_mm.reset(), s.end_diameter_mm.reset();
    if (s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper) s.budget.clear();
  }
  profile.warnings.push_back({"edge-alone", "read as an edge from anywhere: no diameters"});
}

}  // namespace

Result<SideProfile> measure_profile(const Readings& readings, const StageCalibration* stage,
                                    const ProfileReadingsOptions& options) {
  if (!readings.profile)
    return Error{ErrorCode::kBadArgument,
                 "found readings round an outline, needed a profile: --along radius, diameter or edge"};
  std::vector<ProfilePointRZ> points = along_axis(readings, stage);
  if (const auto ok = check(readings, points); !ok) return ok.error();
  const double rounding = readings.resolution_mm / std::sqrt(12.0),
               sigma = options.sigma_mm.value_or(std::max(scatter_mm(points), rounding));
  Meridian meridian;
  for (ProfilePointRZ& p : points) {
    if (!(p.sigma_mm > 0)) p.sigma_mm = sigma > 0 ? sigma : 1e-6;
    meridian.points.push_back({p, {0, 1}, {}});
  }
  meridian.length_mm = points.back().z_mm - points.front().z_mm;
  ProfileCutOptions cut;
  cut.names = options.names, cut.shared_points = 1, cut.least_points = kLeastReadings, cut.least_pieces = 1;
  if (!options.sigma_mm) cut.sigma_freedom = std::max(2.0, kFreedomEach * static_cast<double>(points.size()));
  auto profile = cut_profile(meridian, cut);
  if (!profile) return profile.error();
  if (*readings.profile == ProfileReading::kEdge) forget_axis(*profile);
  return profile;
}

}  // namespace rondure
