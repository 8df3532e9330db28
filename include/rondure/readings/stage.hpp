// The stage of a comparator: what its two scales and the angle between its axes do to the readings.
//
// Model. A point read as (x, y) lies at
//     X = (1 + e_x) x + (1 + e_y) y sin(phi),   Y = (1 + e_y) y cos(phi)
// with scale errors e_x, e_y (ratio) and out-of-squareness phi (rad; positive when the angle between +x and
// +y is less than 90 degrees). Readings round a reference pin or ring of diameter D lie on |(X, Y) - C| =
// rho, and
//     rho = D/2 + p cos 2a + q sin 2a,   a = direction in the PART = direction on the stage - how far it was
//     turned.
// e_x, e_y and phi look exactly like an ovality of the part: of one set of readings they are told apart only
// by the pin's roundness (stated). With the part turned (two orientations or more, 45 or 90 degrees apart) p
// and q are found too: the ovality that turns is the part's, the one that stays is the stage's (derived;
// common practice, no source). A round part of diameter D reads oval by D |e_x - e_y| along the axes and by D
// phi at 45 degrees (first order).
//
// Least squares of the radial deviations (Gauss-Newton from a linear circle). Covariance: readings (their
// scatter, not less than their resolution), the size of the pin and its roundness. Without a known diameter
// the mean scale is not found, only e_x - e_y and phi (e_x = -e_y then), and that needs the turned part.
//
// Where it breaks down: only the stretch of the screws that the pin covers is seen; periodic screw error and
// backlash show as scatter. Arcs: the covariance grows and the calibration is refused beyond kLargestScaleU.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/readings/points_file.hpp"

namespace rondure {

struct StageResidual {
  double angle_deg = 0;  // on the stage, from the pin's centre, [0, 360)
  double deviation_mm = 0;
  int line = 0;
};

struct StageCalibration {
  double scale_x_ratio = 0, scale_y_ratio = 0;           // e_x, e_y
  double squareness_rad = 0;                             // phi
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();  // of (e_x, e_y, phi)
  bool absolute = true;  // by a known diameter; false: mean scale not calibrated
  Estimate pin_diameter_mm;
  double pin_roundness_mm = 0;  // peak to valley, as assumed where the part was not turned
  int readings = 0, orientations = 1;
  double coverage_deg = 0;                  // 360 minus the largest gap, of the worst orientation
  double rms_mm = 0;                        // scatter of the readings about the model, per degree of freedom
  std::optional<Estimate> part_ovality_mm;  // of the pin, by the turned part: major - minor diameter
  std::optional<double> part_ovality_axis_deg;  // of its long axis at orientation 0, [0, 180)
  std::vector<StageResidual> residuals;
  std::string made_from, sha256, when;  // readings file and its bytes; ISO 8601, UTC

  PartPoint part_from_stage(StagePoint read) const;
  // Of (e_x + e_y)/2: goes to every size measured with this stage.
  double u_mean_scale_ratio() const;
  // Standard uncertainty, per component of the ovality, that is left after the correction: ratio to the
  // diameter.
  double u_ovality_ratio() const;
  // What the stage alone made of a round part of that diameter before the correction: major - minor diameter.
  double apparent_ovality_mm(double diameter_mm) const;
};

struct StageOptions {
  std::optional<Estimate> pin_diameter_mm;  // with its standard uncertainty
  double pin_roundness_mm = 0.001;  // peak to valley; of a good gauge pin (common practice, no source)
};

inline constexpr double kLargestScaleError = 0.05;  // more is a wrong unit or a wrong pin
inline constexpr double kLargestScaleU = 0.005;

// Errors: kTooFewPoints, kCollinear, kBadCalibration (arc, implausible scale, a reading far off the others),
// kNoAnswer (neither a known diameter nor a turned part).
Result<StageCalibration> calibrate_stage(const Readings& readings, const StageOptions& options);

// The points of readings in the part's own frame: corrected for the stage where there is a calibration.
// Readings with the part turned are centred by orientation and turned back, so that they lie on one outline.
// Errors: those of calibrate_stage where the orientations themselves tell the stage (no calibration given).
struct PartPoints {
  std::vector<MeasuredPoint> points;
  double u_scale_ratio = 0;             // to be added to the size's budget
  double u_ovality_ratio = 0;           // to be added to the ovality's, per component
  std::optional<StageCalibration> own;  // found from the turned part itself
};
Result<PartPoints> points_on_part(const Readings& readings, const StageCalibration* stage = nullptr);

// The calibration file ("format":"rondure-calibration","version":1,"kind":"stage"). Errors: kFileDamaged
// (what, where), kBadCalibration (another kind of calibration; values that cannot be).
std::string to_json(const StageCalibration& stage);
Result<StageCalibration> parse_stage_calibration(const std::string& json_text);

}  // namespace rondure
