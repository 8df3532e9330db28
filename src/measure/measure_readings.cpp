#include "rondure/measure/measure_readings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "rondure/core/length.hpp"
#include "rondure/fit/circle_fit.hpp"

namespace rondure {
namespace {

// Re-readings tell the noise apart from the form only when there are some.
constexpr int kEnoughReReadings = 5;

std::vector<OutlineReading> other_readings(const Readings& readings) {
  using Kind = OutlineReading::Kind;
  std::vector<OutlineReading> out;
  for (const auto& r : readings.chords) out.push_back({Kind::kChord, r.chord_mm, r.sagitta_mm, 0, r.line});
  for (const auto& r : readings.overlays) out.push_back({Kind::kOverlay, r.radius_mm, {}, 0, r.line});
  for (const auto& r : readings.two_points)
    out.push_back({Kind::kTwoPoint, r.diameter_mm, {}, r.at_rad, r.line, r.step_mm});
  return out;
}

// Standard uncertainty of a reading from its repetitions, widened for their number (variance of Student's t).
std::optional<double> reading_u_mm(const Readings& readings, const std::vector<MeasuredPoint>& points) {
  if (readings.again.empty()) return std::nullopt;
  std::vector<PartPoint> plain;
  for (const auto& p : points) plain.push_back(p.at);
  const auto circle = fit_circle(plain);
  if (!circle) return std::nullopt;
  Readings corrected = readings;
  corrected.points = points;
  const auto repeat = repeatability(corrected, circle->circle.center);
  if (!repeat || repeat->degrees_of_freedom < kEnoughReReadings) return std::nullopt;
  const double nu = repeat->degrees_of_freedom;
  return std::max(repeat->s_mm * std::sqrt(nu / (nu - 2)), readings.resolution_mm / std::sqrt(12.0));
}

// What the stage leaves open of the ovality widens it: the interval keeps its middle, the chance on a round part is
// that of a two-dimensional normal law so much wider, and where that is no longer small the part is not called oval.
void widen_ovality(Feature& feature, double u_ovality_ratio) {
  if (!feature.ellipse || !feature.ellipse->u_ovality_mm || !feature.circle) return;
  EllipseResult& e = *feature.ellipse;
  const double before = *e.u_ovality_mm;
  e.u_ovality_mm = std::hypot(before, u_ovality_ratio * feature.circle->diameter_mm);
  if (!e.ovality95_mm || !(before > 0)) return;
  const double wider = *e.u_ovality_mm / before;
  // A chance too small for a number has lost its power: the law's own, by the ovality in its new uncertainty, is no smaller.
  if (e.p_round)
    e.p_round =
        std::max(std::pow(*e.p_round, 1 / (wider * wider)),
                 *e.p_round < 1e-12 ? std::exp(-0.5 * std::pow(e.ovality_mm / *e.u_ovality_mm, 2)) : 0);
  e.ovality95_mm = Interval{std::max(0.0, e.ovality_mm - (e.ovality_mm - e.ovality95_mm->lo) * wider),
                            e.ovality_mm + (e.ovality95_mm->hi - e.ovality_mm) * wider};
  if (!e.p_round || *e.p_round < 0.05) return;
  e.ovality95_mm->lo = 0;
  e.major_angle_deg.reset();
  if (feature.verdict == OutlineForm::kOval)
    feature.verdict = OutlineForm::kUndecided, feature.verdict_upr.reset();
}

// Whole mm or inches with an uncertainty stated: the statement counts, 10 may have been 10.000.
bool stated_for_whole_numbers(const Readings& readings, const OutlineOptions& outline) {
  return readings.whole_numbers &&
         (outline.sigma_mm || std::all_of(readings.points.begin(), readings.points.end(),
                                          [](const auto& p) { return p.sigma_mm > 0; }));
}

void note_whole_numbers(Feature& feature, const Readings& readings) {
  feature.warnings.push_back(
      {"whole-numbers",
       fmt::format("the readings are whole numbers, good to {} by their digits alone; the uncertainty "
                   "that was stated is taken instead",
                   mm_and_inch(readings.resolution_mm / std::sqrt(12.0), 2))});
}

void note_stage(Feature& feature, const StageCalibration* stage, const PartPoints& part) {
  const StageCalibration* used = stage ? stage : part.own ? &*part.own : nullptr;
  if (!used) return;
  if (part.own) feature.source.calibration = "the part turned on the stage";
  const double diameter = feature.circle ? feature.circle->diameter_mm : used->pin_diameter_mm.value;
  feature.warnings.push_back(
      {"stage-corrected",
       fmt::format("stage corrected: x scale {:+.3f} %, y scale {:+.3f} %, squareness {:+.1f} minutes; "
                   "uncorrected, a round "
                   "part of this size reads {} oval",
                   100 * used->scale_x_ratio, 100 * used->scale_y_ratio, 60 * deg(used->squareness_rad),
                   mm_and_inch(used->apparent_ovality_mm(diameter)))});
  if (!used->absolute)
    feature.warnings.push_back(
        {"mean-scale-not-calibrated",
         "the mean scale of the stage is not calibrated: sizes rest on its own screws"});
}

// Left-out readings by the numbers that `record` gives them, beside their lines in the file.
void name_left_out(Feature& feature, const Readings& readings) {
  std::vector<int> lines;
  for (const ExcludedSector& s : feature.excluded) lines.insert(lines.end(), s.lines.begin(), s.lines.end());
  if (lines.empty()) return;
  std::sort(lines.begin(), lines.end());
  constexpr std::size_t kMostNamed = 8;  // more are counted: the sentence is to be read
  std::string names;
  for (std::size_t i = 0; i < std::min(lines.size(), kMostNamed); ++i) {
    const auto at = std::find(readings.line_of_reading.begin(), readings.line_of_reading.end(), lines[i]);
    names += fmt::format("{}reading {} (line {})", names.empty() ? "" : ", ",
                         at - readings.line_of_reading.begin() + 1, lines[i]);
  }
  if (lines.size() > kMostNamed) names += fmt::format(" and {} more", lines.size() - kMostNamed);
  feature.warnings.push_back(
      {"readings-left-out", "left out: " + names +
                                "; 'rondure record' on this file corrects one ('correct N x y') or keeps it "
                                "as it stands ('keep N')"});
}

}  // namespace

Result<Feature> measure_readings(const std::string& text, const ReadingsOptions& options) {
  const auto readings = parse_points(text, options.bare);
  if (!readings) return readings.error();
  return measure_readings(*readings, options.stage ? &*options.stage : nullptr, options.outline);
}

Result<Feature> measure_readings(const Readings& readings, const StageCalibration* stage,
                                 OutlineOptions outline) {
  const auto part = points_on_part(readings, stage);
  if (!part) return part.error();
  outline.resolution_mm = readings.resolution_mm;
  const bool stated = stated_for_whole_numbers(readings, outline);
  if (stated) outline.resolution_mm = 0;
  outline.others = other_readings(readings);
  outline.kept_lines = readings.kept_lines;
  outline.u_scale_ratio = std::hypot(outline.u_scale_ratio, part->u_scale_ratio);
  if (part->points.empty() && outline.others.empty())
    return Error{ErrorCode::kTooFewPoints, "found no reading, needed at least 3 points x,y"};
  const bool own_sigma =
      std::any_of(part->points.begin(), part->points.end(), [](const auto& p) { return p.sigma_mm > 0; });
  if (!outline.sigma_mm && !own_sigma && !outline.plain)
    outline.sigma_mm = reading_u_mm(readings, part->points);
  auto feature = measure_outline(part->points, outline);
  if (!feature) return feature;
  widen_ovality(*feature, part->u_ovality_ratio);
  note_stage(*feature, stage, *part);
  if (stated) note_whole_numbers(*feature, readings);
  name_left_out(*feature, readings);
  return feature;
}

}  // namespace rondure
