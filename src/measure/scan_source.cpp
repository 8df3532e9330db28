#include "rondure/measure/scan_source.hpp"

#include <fmt/format.h>

#include <cmath>

#include "rondure/core/length.hpp"

namespace rondure {
namespace {

constexpr double kSameResolution_ratio = 0.001;  // files round it: 23.62 px/mm for 600 dpi (23.622)

bool same(const Resolution& a, const Resolution& b) {
  return std::abs(a.x_px_per_mm / b.x_px_per_mm - 1) < kSameResolution_ratio &&
         std::abs(a.y_px_per_mm / b.y_px_per_mm - 1) < kSameResolution_ratio;
}

}  // namespace

Result<MeasuringPlane> scan_plane(const Picture& picture, const ScanAsked& asked) {
  Resolution resolution;
  if (asked.stated) {
    resolution = *asked.stated;
  } else {
    const auto of_file = resolution_of(picture);
    if (!of_file) return of_file.error();
    resolution = *of_file;
  }
  if (asked.scanner && !same(resolution, asked.scanner->resolution))
    return Error{
        ErrorCode::kCalibrationMismatch,
        fmt::format("found a scan of {:.0f} dpi, the scanner's file was made at {:.0f} dpi; needed one of "
                    "the same resolution",
                    resolution.x_px_per_mm * kMmPerInch, asked.scanner->resolution.x_px_per_mm * kMmPerInch)};
  MeasuringPlane plane =
      plane_of_scan(picture, resolution, asked.scanner ? asked.scanner->axes : ScannerAxes{});
  if (!asked.scanner)
    plane.warnings.push_back(
        {"scanner-not-calibrated", fmt::format("the scanner's two axes are known to {:.1f} % of each other "
                                               "only, which may look like ovality: a "
                                               "round reference gives them (calibrate scanner)",
                                               200 * ScannerAxes::kUnknownDifference_ratio)});
  return plane;
}

}  // namespace rondure
