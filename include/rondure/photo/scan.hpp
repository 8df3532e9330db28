// A flatbed scan: the picture's own resolution is its scale. The row of sensors (x) and the carriage (y) each have a
// scale of their own, and are not quite square to each other.
//
// Model: picture px = R (1 + m + q) (x + s y),  -R (1 + m - q) y  with R the stated resolution, m the error both
// axes share, q half of their difference, s the skew (rad). A disc then reads larger by m and oval by 2 q and s:
// r(t) = r (1 + m + q cos 2t + s/2 sin 2t). A tone curve that is not the assumed one moves the reference's edge and the
// part's alike: a part of the reference's size and light is free of it, which is why the reference's own reading is
// kept (reference_piece.hpp has the model). Until a reference has told them, m, q and s are 0 with a standard
// uncertainty of kUnknown...: what flatbed scanners do (common practice, no source). There is no parallax: the
// edge that lies on the glass is measured; one above it is seen past its lower edge on both sides (lamp and sensors
// move along). Breaks down: edges more than a few mm above the glass (blurred; some scanners see them enlarged along x).
#pragma once
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/photo/calibration.hpp"
#include "rondure/photo/reference_piece.hpp"
#include "rondure/photo/round_edges.hpp"

namespace rondure {

// px/mm along x and y.
struct Resolution {
  double x_px_per_mm = 0, y_px_per_mm = 0;
};
// "600dpi", "1200 ppi", "23.6px/mm". Errors: kBadArgument.
Result<Resolution> parse_resolution(std::string_view text);
// What the picture's file says. Errors: kBadCalibration where it says none.
Result<Resolution> resolution_of(const Picture& picture);

struct ScannerAxes {
  static constexpr double kUnknownMean_ratio = 0.001, kUnknownDifference_ratio = 0.0015,
                          kUnknownSkew_rad = 0.0005;
  Estimate mean_ratio{0, kUnknownMean_ratio};              // m
  Estimate difference_ratio{0, kUnknownDifference_ratio};  // q
  Estimate skew_rad{0, kUnknownSkew_rad};                  // s
};

MeasuringPlane plane_of_scan(const Picture& picture, const Resolution& resolution, const ScannerAxes& axes);

// A round reference as one scan shows it, read with the stated resolution. mm.
struct ScannedDisc {
  Estimate diameter_mm;             // as read
  double cos2_mm = 0, sin2_mm = 0;  // second harmonic of its radius
  double u_second_harmonic_mm = 0;  // of each
  CircleReading reading;            // the same with what other edges of this scanner share with it
};
// Errors: kNoRoundEdge, kBadCalibration (no edge within 3 % of the size, less than 330 deg of it seen).
Result<ScannedDisc> read_scanned_disc(const Picture& picture, const Resolution& resolution,
                                      double diameter_mm, const EdgeOptions& options = {});

struct ScannerFit {
  ScannerAxes axes;
  double piece_ovality_mm = 0;  // of the reference itself, where it was turned
  bool turned = false;
  ReferenceReading reference;  // read with these axes: right by definition, its errors are what it leaves
};
// One scan, or two between which the piece was turned by a quarter turn (to some kTurnedWithin): its own ovality
// turns with it and drops out. From one scan its roundness is trusted to the uncertainty of its diameter. Errors:
// kTooFewPoints, kBadCalibration (axes that differ by more than 3 %, scans that contradict each other).
Result<ScannerFit> scanner_from_discs(const Estimate& diameter_mm, std::span<const ScannedDisc> scans);
inline constexpr double kTurnedWithin_rad = 0.1;

// On disk: the envelope of calibrations (calibration.hpp), kind "scanner".
struct ScannerFile {
  Resolution resolution;
  ScannerAxes axes;
  std::vector<CalibrationSource> made_from;
  std::string when;
  std::optional<ReferenceReading> reference;  // absent in files of before: then m's own uncertainty counts
};
std::string to_json(const ScannerFile& scanner);
Result<ScannerFile> parse_scanner(const std::string& json_text);      // kFileDamaged, kBadCalibration
Result<ScannerFile> load_scanner(const std::filesystem::path& file);  // also kFileMissing, kFileUnreadable

}  // namespace rondure
