// What is known of one measured feature of a part: the values that go into the part record. Every figure is of the
// PART (GUM: the measurand), not of the points. A value that the data cannot give is absent.
#pragma once
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/feature_kind.hpp"
#include "rondure/core/geometry.hpp"
#include "rondure/core/uncertainty_source.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/fit/outline_form.hpp"

namespace rondure {

enum class SourceType { kUnknown, kPhoto, kReadings, kChord, kOverlay, kTwoPoint };
std::string_view name(SourceType type);  // as in the record: "photo" ... "two-point"; empty when not known
SourceType parse_source_type(std::string_view name);  // kUnknown for a name that is none

struct FeatureSource {
  SourceType type = SourceType::kUnknown;
  std::string file;                     // as given by the user
  std::string sha256;                   // of the file's bytes, hex; empty = not from a file
  std::string calibration;              // file or description; empty = none
  std::string time;                     // ISO 8601, UTC
  std::string calibration_sha256 = {};  // of the calibration file; equal ones share their errors
};

struct PointsSummary {
  int count = 0;            // points given
  int used = 0;             // points that carry the fits
  double coverage_deg = 0;  // 360 minus the largest gap seen from the centre
};

struct CircleResult {
  double diameter_mm = 0;
  std::optional<double> u_diameter_mm;
  PartPoint center;
  double rms_mm = 0;
  std::optional<Interval> diameter95_mm;  // absent when the curvature interval reaches 0
};

struct EllipseResult {
  double major_diameter_mm = 0, minor_diameter_mm = 0;
  std::optional<double> major_angle_deg;  // absent when the ovality is not significant
  PartPoint center;
  double ovality_mm = 0;  // major - minor diameter, corrected for noise bias
  std::optional<double> u_ovality_mm;
  std::optional<Interval> ovality95_mm;
  std::optional<double> p_round;  // chance of seeing as much on a round part
};

struct ReferenceCircleResult {
  double ront_mm = 0, diameter_mm = 0;  // roundness deviation peak to valley (ISO 12181-1)
  PartPoint center;
};

// RONt (least-squares circle) of the profile after the Gaussian filter of ISO 12181-2.
struct FilteredRoundness {
  int cutoff_upr = 0;
  double ront_mm = 0;
};

struct RoundnessResult {
  std::vector<FilteredRoundness> filtered;  // the cut-offs that the points carry
  std::optional<ReferenceCircleResult> lsci, mzci, mcci, mici;
  std::optional<double> noise_floor_mm;  // RONt that a perfectly round part would show with these points
};

// Sizes by ISO 14405-1, mm.
struct SizesResult {
  std::optional<double> gg, gn, gx, cc, ca, lp_max, lp_min, lp_range;
};

struct HarmonicResult {
  int upr = 0;  // undulations per revolution
  double amplitude_mm = 0,
         phase_deg = 0;  // r(t) = ... + amplitude cos(upr (t - phase)); phase in [0, 360/upr)
  std::optional<double> u_amplitude_mm;
};

struct ExcludedSector {
  double from_deg = 0, to_deg = 0;  // counter-clockwise from `from`, may pass 360
  double height_mm = 0;             // + above the outline, - below
  int points = 0;
  std::vector<int> lines;  // lines of the readings file, where there are any
};

// One of several kinds of reading that went into one radius.
struct CombinedReading {
  std::string source;      // "coordinates", "chord, line 7", "overlay, line 9", "two-point, line 4"
  double radius_mm = 0;    // that this reading alone gives
  double u_radius_mm = 0;  // of the reading itself, without form
  double weight = 0;       // share in the combined value; all sum to 1
};

// The outline for charts: deviation of each point (thinned to at most 720) from the least-squares circle.
struct ProfilePoint {
  double angle_deg = 0, deviation_mm = 0;
  bool used = true;
};

struct Feature {
  std::string name;  // the user's label
  FeatureKind kind;
  FeatureSource source;
  PointsSummary points;
  std::optional<CircleResult> circle;
  std::optional<EllipseResult> ellipse;
  std::optional<RoundnessResult> roundness;
  std::optional<SizesResult> sizes;
  std::vector<HarmonicResult> harmonics;
  std::vector<ExcludedSector> excluded;
  std::vector<BudgetLine> budget;
  std::vector<CombinedReading> combination;  // absent when there is one kind of reading only
  std::optional<double> p_readings_agree;    // chance of differing this much when all see one radius
  OutlineForm verdict = OutlineForm::kNotJudged;
  std::optional<int> verdict_upr;  // oval: 2, lobed: its undulations per revolution
  std::vector<ProfilePoint> profile;
  // Photographs: the affine map of the part plane onto the picture near the feature, for drawing over it:
  // px = A (x_mm, y_mm, 1). Row-major 2 x 3.
  std::optional<std::array<double, 6>> pixel_from_part;
  // Photographs: of this rim above the board's plane, told or found in the picture.
  std::optional<double> height_mm, u_height_mm;
  std::vector<Warning> warnings;
};

}  // namespace rondure
