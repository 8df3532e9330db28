// Calibrations on disk: one JSON format, "rondure-calibration" version 1, of kind camera, plane or scale
// (kind stage belongs to the comparator readings; same envelope).
//
//   {"format":"rondure-calibration","version":1,"kind":"camera","made_from":[{"file":..,"sha256":..},
//   ...],"when":..,
//    "picture":{"width_px":..,"height_px":..,"make":..,"model":..,"orientation":..}, ...}
//
// camera: lens with covariance, ink and tone curve, residual of every view. plane: homography (part mm ->
// ideal pixel) with covariance, lens, tone curve. scale: the same for a square-on view of known scale. A
// value the data could not give is absent.
#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/calibration_source.hpp"
#include "rondure/core/result.hpp"
#include "rondure/photo/board.hpp"
#include "rondure/photo/camera.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

enum class CalibrationKind { kCamera, kPlane, kScale };
std::string_view name(CalibrationKind kind);  // "camera", "plane", "scale"

struct Calibration {
  CalibrationKind kind = CalibrationKind::kCamera;
  std::vector<CalibrationSource> made_from;
  std::string when;  // ISO 8601, UTC
  std::optional<BoardSize> board;
  std::optional<CameraCalibration> camera;  // kind camera
  std::optional<MeasuringPlane> plane;      // kinds plane and scale
  std::string make, model;                  // EXIF of the picture a plane or scale was made from
  int orientation = 1;
  std::vector<ViewResult> views;  // kind camera
  double rms_px = 0, chi = 0;     // residual of the edges; chi: over what noise explains
  std::vector<Estimate> pins_mm;  // kind scale: the references
  std::vector<Warning> warnings;
};

std::string to_json(const Calibration& calibration);  // ends with a newline; no NaN
// Errors: kFileDamaged (what and where), kBadCalibration (kind stage, or numbers that cannot be).
Result<Calibration> parse_calibration(const std::string& json_text);
// Errors: also kFileMissing, kFileUnreadable.
Result<Calibration> load_calibration(const std::filesystem::path& file);

// The stored plane for a picture taken from the same place with the same camera.
// Errors: kCalibrationMismatch (another size or camera), kBadCalibration (a camera alone has no plane).
Result<MeasuringPlane> plane_for(const Calibration& calibration, const Picture& picture);

}  // namespace rondure
